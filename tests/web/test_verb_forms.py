"""Each verb has a form that fits it, and each form does what its verb does."""

import inspect

import pytest
from django.urls import reverse

from records.changes import VERBS, sightings
from records.models import Change, Figure, HazardStatement, Reading, Tag
from records.models.tag_code import NUMBER_COUNT, candidate
from records.web.forms import FORMS, WITHOUT_FORM
from tests.factories import AT, Plant, entry, opened, optical_class, user

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S 1:4
    cable D1 30 m
    cable D2 30 m
    cable D3 30 m x4
    outlet U1 @1
    outlet U2 @2
    terminal T1 @1
    terminal T2 @2
    closure K
    flat 3
    O.1 = S
    light O.1 GPON B+
    S.1 = D1 ~ U1 - T1
    book S.2 for 2
    S.2 = D2
    D2 ~ U2
    bar S.3 broken tail
"""


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def form_at(crew, verb, **fields):
    """Return the form as its page shows it, and the page."""
    page = crew.get(f"/do/{verb}/", fields)
    return page.context["form"], page


def send(crew, verb, **fields):
    """Send a form as its page gave it, with these fields filled in."""
    _form, page = form_at(crew, verb, **fields)
    return crew.post(f"/do/{verb}/", {**page.context["form"].data.dict(), **token(page), **fields})


def token(page):
    return {"token": page.context["token"]}


def a_tag():
    """Issue one blank tag and return its code."""
    scattered = range(0, NUMBER_COUNT, NUMBER_COUNT // 97)
    codes = [code for number in scattered if (code := candidate(number))]
    with opened() as change:
        VERBS["tags.issue"](change, count=1, candidates=codes)
    return codes[0]


def a_reading(plant):
    with opened() as change:
        return VERBS["readings.read"](change, plant["T1"], wavelength_nm=1490, level_dbm=-17.0).pk


def an_owner():
    owner = user()
    owner.is_superuser = True
    owner.save()


def a_line_with_a_reference(plant):
    an_owner()
    with opened() as change:
        line = VERBS["lines.open"](change, place=plant.flat("3"), outside_ref="Q-7")
    return line.pk


def a_person():
    an_owner()
    return user("left").pk


def a_day_after_a_scan():
    an_owner()
    sightings.see(Tag.objects.get(code=a_tag()), by=user(), at=AT)
    return "2026-03-03"


def figures(**values_db):
    """Return rows of figures over all bands in use, as a person types them."""
    rows = {}
    for number, (bound, value_db) in enumerate(values_db.items(), start=1):
        rows |= {
            f"figures.{number}.bound": bound,
            f"figures.{number}.wavelength_min_nm": "1260",
            f"figures.{number}.wavelength_max_nm": "1650",
            f"figures.{number}.value_db": value_db,
        }
    return rows | {"figures.1.source": "test sheets of twelve units, March 2026"}


def a_confirmation():
    row = Figure.objects.filter(confidence="memory only")[0]
    with opened() as change:
        confirm = VERBS["catalogue.confirm"]
        return confirm(change, noun="figure", row=row.pk, edition="11/2016", table="Table 2").pk


SENT = {
    "catalogue.add": lambda _plant: {
        "kind": "fusion",
        "name": "our splice",
        **figures(least="0", typical="0,04 dB", most="0.1"),
    },
    "catalogue.supersede": lambda _plant: {
        "entry": entry("splitter", "1:4"),
        **figures(least="6.1", typical="6.8", most="7.2"),
    },
    "catalogue.confirm": lambda _plant: {
        "noun": "figure",
        "row": Figure.objects.filter(confidence="memory only")[0].pk,
        "edition": "ITU-T G.652 (11/2016)",
        "table": "Table 2",
    },
    "catalogue.unconfirm": lambda _plant: {"confirmation": a_confirmation()},
    "joints.join": lambda plant: {"a": plant["S.4"], "b": plant["D3.1a"], "kind": "mated"},
    "joints.part": lambda plant: {"joint": plant.joint("S.1")},
    "joints.patch": lambda plant: {"a": plant["U2.1b"], "b": plant["T2"], "length_m": "1,5"},
    "joints.measure": lambda plant: {"joint": plant.joint("S.1"), "loss_db": "0.21"},
    "bookings.book": lambda plant: {"leg": plant["S.4"], "line": plant.line("3")},
    "bookings.move": lambda plant: {"leg": plant["S.1"], "to": plant["S.4"]},
    "bookings.release": lambda plant: {"leg": plant["S.2"]},
    "bookings.bar": lambda plant: {"leg": plant["S.4"], "why": "chipped end face"},
    "bookings.unbar": lambda plant: {"leg": plant["S.3"]},
    "bookings.measure": lambda plant: {"leg": plant["S.1"], "loss_db": "7,2 dB"},
    "joints.unmeasure": lambda plant: {"joint": plant.joint("S.1")},
    "bookings.unmeasure": lambda plant: {"leg": plant["S.1"]},
    "cables.unmeasure": lambda plant: {"cable": plant.id("D1"), "fibre": "1"},
    "channels.unmeasure": lambda plant: {"channel": plant.channel("O.1")},
    "cables.rename": lambda plant: {"cable": plant.id("D1"), "name": "D77"},
    "places.reinstate": lambda plant: {"place": plant.flat("3")},
    "readings.read": lambda plant: {"point": plant["T1"], "level_dbm": "\N{MINUS SIGN}17,4"},
    "readings.take_back": lambda plant: {"reading": a_reading(plant)},
    "cables.lay": lambda plant: {
        "name": "D9",
        "a_place": plant.riser,
        "b_place": plant.flat("3"),
        "length_m": "42,5 m",
        "diameter_mm": "3",
    },
    "cables.measure": lambda plant: {"cable": plant.id("D1"), "fibre": "1", "loss_db": "0.4"},
    "cables.damage": lambda plant: {"cable": plant.id("D3"), "fibre": "2", "why": "a screw"},
    "cables.mend": lambda plant: {"cable": plant.id("D3"), "fibre": "2"},
    "cables.remove": lambda plant: {"cable": plant.id("D3")},
    "equipment.install": lambda plant: {
        "kind": "splitter",
        "place": plant.riser,
        "name": "S9",
        "entry": entry("splitter", "1:8"),
    },
    "equipment.move": lambda plant: {"equipment": plant.id("K"), "place": plant.head_end},
    "equipment.rename": lambda plant: {"equipment": plant.id("K"), "name": "K9"},
    "equipment.remove": lambda plant: {"equipment": plant.id("K")},
    "channels.light": lambda plant: {
        "port": plant["O.2"],
        "optical_class": optical_class("XGS-PON N1"),
    },
    "channels.darken": lambda plant: {"channel": plant.channel("O.1")},
    "channels.measure": lambda plant: {"channel": plant.channel("O.1"), "launch_dbm": "+3,4 dBm"},
    "places.add": lambda plant: {"parent": plant.building, "kind": "floor", "name": "Floor 1"},
    "places.rename": lambda plant: {"place": plant.building, "name": "Block B"},
    "places.retire": lambda plant: {"place": plant.flat("3")},
    "lines.open": lambda plant: {"place": plant.flat("3")},
    "swaps.swap": lambda plant: {
        "equipment": plant.id("S"),
        "entry": entry("splitter", "1:8"),
    },
    "cable_works.swap": lambda plant: {"cable": plant.id("D1"), "length_m": "33"},
    "cable_works.reroute": lambda plant: {"cable": plant.id("D1"), "length_m": "44,5"},
    "cuts.cut": lambda plant: {"cable": plant.id("D1"), "at_m": "10", "closure": plant.id("K")},
    "buildings.renumber": lambda plant: {
        "building": plant.building,
        "names": "Flat 1 = Flat 2\nFlat 2 = Flat 1\nFlat 3 = Flat 3",
    },
    "buildings.retire": lambda plant: {"place": plant.building},
    "tags.bind": lambda plant: {
        "code": a_tag(),
        "noun": "cable",
        "thing": plant.id("D1"),
        "cable_end": "A",
    },
    "tags.void": lambda plant: {"code": a_tag(), "why": "torn"},
    "retention.forget_outside_ref": lambda plant: {"line": a_line_with_a_reference(plant)},
    "retention.forget_person": lambda _plant: {"person": a_person()},
    "retention.forget_sightings": lambda _plant: {"seen_before": a_day_after_a_scan()},
    "hazards.state": lambda plant: {
        "place": plant.riser,
        "hazard_level": "1M",
        "assessor": "A. Assessor",
        "stated_date": "2026-03-01",
    },
    "hazards.withdraw": lambda plant: {
        "statement": HazardStatement.objects.get().pk,
        "why": "assessed anew",
    },
}
"""What a person would send of each form, beside what the form fills in itself."""

UNDOES = {
    "cables.mend": "cables.damage",
    "hazards.withdraw": "hazards.state",
    "joints.unmeasure": "joints.measure",
    "bookings.unmeasure": "bookings.measure",
    "cables.unmeasure": "cables.measure",
    "channels.unmeasure": "channels.measure",
    "places.reinstate": "places.retire",
}
"""The verbs that undo another, which is sent first."""


AT_ONCE = sorted(verb for verb, form in FORMS.items() if not form.asks_first)
"""The forms that are shown without a question before them."""


def test_every_verb_has_a_form_or_a_reason_for_none():
    assert VERBS.keys() <= FORMS.keys() | WITHOUT_FORM.keys()
    assert FORMS.keys() <= VERBS.keys()
    assert not FORMS.keys() & WITHOUT_FORM.keys()


@pytest.mark.parametrize("verb", sorted(FORMS))
def test_a_form_has_the_fields_of_its_verb(verb):
    parameters = list(inspect.signature(VERBS[verb]).parameters.values())[1:]
    needed = {each.name for each in parameters if each.default is inspect.Parameter.empty}
    needed -= {"flats"} if verb == "buildings.renumber" else set()  # follow from the building
    extra = {"reason", "saw_no_light", "building"}

    fields = set(FORMS[verb].base_fields) - extra

    assert needed <= fields <= {each.name for each in parameters}


@pytest.mark.parametrize("verb", sorted(FORMS))
def test_a_form_does_what_its_verb_does(crew, plant, verb):
    if verb in UNDOES:
        send(crew, UNDOES[verb], **SENT[UNDOES[verb]](plant))
    fields = SENT[verb](plant)
    before = Change.objects.count()

    answer = send(crew, verb, **fields)

    assert answer.status_code == 302, answer.context["form"].errors
    done = Change.objects.latest("number")
    assert (done.verb, Change.objects.count()) == (verb, before + 1)
    page = crew.get(answer["Location"])
    assert page.status_code == 200
    assert (
        f'href="{reverse("change", args=[done.pk])}">change {done.pk}</a>' in page.content.decode()
    )


@pytest.mark.parametrize("verb", AT_ONCE)
def test_a_form_shown_empty_complains_of_nothing(crew, verb):
    form, page = form_at(crew, verb)

    assert page.status_code == 200
    assert not form.errors


@pytest.mark.parametrize("verb", AT_ONCE)
def test_a_form_sent_empty_says_what_is_missing(crew, verb):
    _form, page = form_at(crew, verb)

    answer = crew.post(f"/do/{verb}/", token(page))

    assert answer.status_code == 422
    assert "Nothing was recorded." in answer.content.decode()
    assert not Change.objects.filter(verb=verb).exists()


@pytest.mark.parametrize(("verb", "answers"), [("equipment.install", 8), ("tags.bind", 5)])
def test_a_form_that_depends_on_a_kind_asks_for_it_first(crew, plant, verb, answers):
    page = crew.get(f"/do/{verb}/", {"place": plant.riser})

    assert len(page.context["answers"]) == answers
    for address, _words in page.context["answers"]:
        asked = crew.get(f"/do/{verb}/{address}")
        assert asked.status_code == 200
        assert "token" in asked.context
        assert f"place={plant.riser}" in address


def test_no_light_is_a_reading_too(crew, plant):
    answer = send(crew, "readings.read", point=plant["T1"], saw_no_light="on")

    assert answer.status_code == 302
    assert Reading.objects.get().level_mdbm is None


def test_a_reading_needs_a_level_or_the_word_that_there_was_none(crew, plant):
    neither = send(crew, "readings.read", point=plant["T1"])
    both = send(crew, "readings.read", point=plant["T1"], level_dbm="-20", saw_no_light="on")

    assert neither.context["form"].errors["level_dbm"] == [
        "Give the level, or tick that the meter saw no light."
    ]
    assert both.context["form"].errors["level_dbm"] == [
        "Give a level, or tick that no light was seen, not both."
    ]


def test_the_page_of_all_forms_leads_to_each(crew):
    page = crew.get("/do/").content.decode()

    assert all(f'href="/do/{verb}/"' in page for verb in FORMS)


@pytest.mark.parametrize("verb", ["joints.cut", "catalogue.load", "tags.issue"])
def test_what_has_no_form_is_not_found(crew, verb):
    assert crew.get(f"/do/{verb}/").status_code == 404
    assert crew.post(f"/do/{verb}/", {}).status_code == 404
