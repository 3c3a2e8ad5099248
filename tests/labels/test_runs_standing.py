"""Labels that have gone wrong, are missing, or were never seen; and the neutral sheet."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from labels import orders, owner, runs, seeds, shelf
from labels.choices import equipment_items, place_items
from labels.design import LabelSettings, label
from labels.layout import lay_out
from labels.neutral_sheet import neutral_sheets
from labels.patching import WORDS, cupboard, patches_in
from labels.pictograms import DRAWN_HERE
from labels.refusals import LabelRefusal
from labels.standing import State, left_behind, standings, wrong_on
from records.changes import VERBS, sightings
from records.models import (
    CautionSign,
    Change,
    Equipment,
    HazardStatement,
    LabelRules,
    OwnStock,
    Place,
    Sighting,
    Tag,
)
from records.models.tag_code import grouped
from tests.factories import AT, Plant, opened, user
from tests.labels.readers import page_texts
from tests.labels.test_runs import ADDRESS, blanks, codes, order, print_
from tests.unchanged import nothing_written, refused

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S 1:4
    panel P x2
    closure K
    cable D 30 m
    outlet U @12
    terminal T @12
    light O.1 GPON B+
    O.1 = P.1a
    P.1 - S
    S.1 = D ~ U - T
"""


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def inside(plant):
    return place_items(Place.objects.get(pk=plant.building))


def by_name(plant):
    return {each.item.name: each for each in standings(inside(plant))}


def printed(plant):
    return print_([item for item in inside(plant) if item.kind != "caution"])[0]


def tag_of(point):
    return Tag.objects.get(point=point)


def test_what_was_never_printed_is_missing_and_then_good(plant):
    assert {each.state for each in standings(inside(plant))} == {State.MISSING}

    printed(plant)

    states = {name: each.state for name, each in by_name(plant).items()}
    assert states.pop("caution at riser cupboard Riser") == State.MISSING
    assert set(states.values()) == {State.GOOD}


def test_a_renamed_box_makes_its_labels_wrong_and_says_how(plant):
    printed(plant)
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="S-new")

    found = by_name(plant)

    assert found["splitter S-new"].state == State.STALE
    assert found["splitter S-new"].why == ("name: it says “S”, now “S-new”",)
    assert found["leg 3 of S-new"].why == ("box: it says “S”, now “S-new”",)
    assert found["closure K"].state == State.GOOD
    assert wrong_on(tag_of(plant["S.3"])) == ("box: it says “S”, now “S-new”",)


def test_what_is_printed_anew_is_right_again(plant):
    printed(plant)
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="S-new")

    print_(equipment_items(Equipment.objects.get(pk=plant.id("S"))), seed=9)

    assert by_name(plant)["leg 3 of S-new"].state == State.GOOD
    assert wrong_on(tag_of(plant["S.3"])) == ()


def test_a_field_left_out_of_a_run_is_not_held_against_its_labels(plant):
    items = equipment_items(Equipment.objects.get(pk=plant.id("S")))
    laid = runs.lay_out(items, order(), codes(), shown=frozenset())
    with opened() as change:
        runs.record(change, laid, "without boxes")
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="S-new")

    assert by_name(plant)["leg 3 of S-new"].state == State.GOOD
    assert by_name(plant)["splitter S-new"].state == State.STALE


def test_a_label_whose_tag_was_voided_is_wrong(plant):
    printed(plant)
    code = tag_of(plant["S.3"]).code
    with opened() as change:
        VERBS["tags.void"](change, code, why="torn")

    leg = by_name(plant)["leg 3 of S"]

    assert leg.state == State.STALE
    assert leg.why == (f"its tag {grouped(code)} was voided",)


def test_a_blank_tag_takes_the_place_of_a_voided_one(plant):
    printed(plant)
    fresh = blanks(1).labels.get().tag.code
    with opened() as change:
        VERBS["tags.void"](change, tag_of(plant["S.3"]).code, why="torn")
        VERBS["tags.bind"](change, fresh, noun="point", thing=plant["S.3"])

    assert by_name(plant)["leg 3 of S"].state == State.GOOD


def test_a_spoiled_label_needs_printing_with_the_same_code(plant):
    label = printed(plant).labels.get(thing=plant["S.3"], noun="point")
    with opened() as change:
        VERBS["prints.spoil"](change, label.pk, why="smeared")

    leg = by_name(plant)["leg 3 of S"]

    assert leg.printed is None
    assert leg.state in {State.MISSING, State.UNRECORDED}
    assert leg.item.code == label.tag.code


def test_a_tag_of_which_no_print_is_recorded_is_told_apart(plant):
    with opened() as change:
        (tag,) = VERBS["tags.issue"](change, count=1, candidates=codes())
        VERBS["tags.bind"](change, tag.code, noun="point", thing=plant["S.3"])

    assert by_name(plant)["leg 3 of S"].state == State.UNRECORDED


def test_labels_of_what_is_gone_are_to_be_taken_off(plant):
    printed(plant)
    assert left_behind(Place.objects.get(pk=plant.building), inside(plant)) == []
    with opened() as change:
        VERBS["equipment.remove"](change, plant.id("K"))

    (gone,) = left_behind(Place.objects.get(pk=plant.building), inside(plant))

    assert (gone.kind, gone.fields["name"]) == ("closure", "K")


def test_a_label_is_never_seen_until_it_is_scanned(plant):
    printed(plant)
    assert by_name(plant)["leg 3 of S"].is_never_seen

    changes = Change.objects.count()
    sightings.see(tag_of(plant["S.3"]), by=user(), at=AT)
    sightings.see(tag_of(plant["S.3"]), by=user(), at=AT + timedelta(minutes=1))

    assert (Sighting.objects.count(), Change.objects.count()) == (1, changes)
    leg = by_name(plant)["leg 3 of S"]
    assert (leg.seen_at, leg.is_never_seen) == (AT, False)


def test_standings_cost_no_queries_in_proportion_to_the_labels(
    plant, django_assert_max_num_queries
):
    plant.grow("\n".join(f"splitter V{number} 1:16" for number in range(5)))
    items = inside(plant)

    with django_assert_max_num_queries(20):
        assert len(standings(items)) > 90


# --- Cautions and hazard statements --------------------------------------------------------


def caution(plant):
    (item,) = [each for each in inside(plant) if each.kind == "caution"]
    return item


def state(plant, level="1M", day=date(2026, 2, 1)):
    with opened() as change:
        return VERBS["hazards.state"](
            change, plant.riser, hazard_level=level, assessor="A. Assessor", stated_date=day
        )


def test_a_caution_has_no_level_until_an_assessor_stated_one(plant):
    assert caution(plant).fields["level"] == caution(plant).fields["assessed_on"] == ""

    state(plant)

    assert caution(plant).fields["level"] == "HAZARD LEVEL 1M"
    assert caution(plant).fields["assessed_on"] == "2026-02-01"


def test_the_latest_statement_not_withdrawn_holds(plant):
    state(plant, "1M", date(2026, 2, 1))
    late = state(plant, "3R", date(2026, 3, 1))
    state(plant, "1", date(2025, 3, 1))
    assert caution(plant).fields["level"].endswith("3R")

    with opened() as change:
        VERBS["hazards.withdraw"](change, late.pk, why="wrong place")

    assert caution(plant).fields["level"].endswith("1M")
    with refused("statement_withdrawn", "wrong place") as change:
        VERBS["hazards.withdraw"](change, late.pk, why="again")


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"hazard_level": "5"}, "5"),
        ({"assessor": " "}, "assessor"),
        ({"stated_date": date(2026, 3, 3)}, "still to come"),
    ],
)
def test_a_statement_needs_a_level_a_name_and_a_day_that_has_been(plant, fields, text):
    given = {"hazard_level": "1", "assessor": "A. Assessor", "stated_date": date(2026, 3, 1)}

    with refused("malformed", text) as change:
        VERBS["hazards.state"](change, plant.riser, **given | fields)
    assert not HazardStatement.objects.exists()


def test_a_caution_goes_wrong_when_another_level_is_stated(plant):
    state(plant)
    print_([caution(plant)], "A4-2x5")
    assert standings([caution(plant)])[0].state == State.GOOD

    state(plant, "3R", date(2026, 3, 1))

    (standing,) = standings([caution(plant)])
    assert standing.state == State.STALE
    assert any("HAZARD LEVEL 3R" in why for why in standing.why)


def test_a_caution_carries_no_code(plant):
    run, content = print_([caution(plant)], "A4-2x5")

    assert run.labels.get().tag is None
    assert "CAUTION" in page_texts(content)[0]


# --- The owner's rules ---------------------------------------------------------------------


def rules(**fields):
    row = owner.rules()
    for name, value in fields.items():
        setattr(row, name, value)
    return row


def settle(*, pictogram="", picture="", **fields):
    own = CautionSign(pictogram=pictogram, picture=picture)
    with opened() as change:
        return owner.settle(change, rules(**fields), own)


def test_labels_lead_to_the_host_that_the_owner_settled(plant):
    settle(host="LB.EXAMPLE")

    run, _content = print_(inside(plant)[:1])

    assert orders.order_of(run).settings.host == "LB.EXAMPLE"
    assert "lb.example" in owner.known_hosts()


def test_older_hosts_stay_known(plant):
    settle(host="ONE.EXAMPLE")
    settle(host="TWO.EXAMPLE")

    assert owner.known_hosts()[:2] == ("two.example", "one.example")
    assert LabelRules.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"host": "no host/at all"}, "is not a host name"),
        ({"smallest_module_mm": 0.2}, "0.2 mm is under the published smallest"),
        ({"language": "xx"}, "No caution is known"),
    ],
)
def test_rules_by_which_nothing_could_be_printed_are_refused(plant, fields, text):
    with nothing_written(), pytest.raises(LabelRefusal, match=text):
        settle(**fields)


def test_a_longer_host_needs_larger_labels_and_says_so(plant):
    short, long = (
        rules(host="L.EX"),
        rules(host="A-RATHER-LONG-NAME-OF-A-HOST.LABELS.OUR-DEPARTMENT.EXAMPLE.ORG"),
    )

    assert owner.qr_size(long).version > owner.qr_size(short).version
    left_out = owner.sheets_without_qr(long)
    assert owner.sheets_without_qr(short).keys() < left_out.keys()
    assert "smallest that this printer may print is 0.381 mm" in left_out["A4-5x16"]


def test_a_design_whose_qr_does_not_fit_is_refused_with_the_figure_where_the_owner_wants(plant):
    settle(host="L.EX", requires_qr=True)

    with nothing_written(), pytest.raises(LabelRefusal, match=r"modules of 0\.\d\d mm"):
        print_(equipment_items(Equipment.objects.get(pk=plant.id("O")))[1:], "A4-7x27")


def test_a_caution_has_pictogram_and_words_of_the_owners_country(plant):
    print_([caution(plant)])
    settle(language="en-AU")

    says = caution(plant).fields
    assert (says["signal"], says["pictogram"]) == ("CAUTION", "triangle_plate")
    (standing,) = standings([caution(plant)])
    assert standing.why == ("pictogram: it shows “triangle”, now “triangle_plate”",)


def test_a_caution_printed_before_pictograms_were_settled_has_the_triangle():
    face = shelf.stock("A4-3x8").face()
    bare = label("caution", signal="CAUTION", words="LASER LIGHT")
    named = label("caution", signal="CAUTION", words="LASER LIGHT", pictogram="triangle")

    first, second = (lay_out(each, face, LabelSettings("L.EX")) for each in (bare, named))

    assert first == second


@pytest.mark.parametrize("country", seeds.caution_words())
def test_every_countrys_caution_fits_the_usual_sheet_with_its_level(country):
    said = seeds.caution_words()[country]
    stated = label(
        "caution",
        pictogram=said.pictogram,
        signal=said.signal,
        words=said.words,
        level=f"{said.level} 1M",
        assessed_on="2026-02-01",
    )

    drawn = lay_out(stated, shelf.stock(shelf.USUAL_SHEET).face(), LabelSettings("L.EX"))

    assert "1M" in drawn.texts[-1].text or "1M" in drawn.texts[-2].text


@pytest.mark.parametrize("sign", DRAWN_HERE)
def test_a_caution_with_any_pictogram_stays_on_its_label(sign):
    for stock in ("A4-3x8", "A4-4x10"):
        face = shelf.stock(stock).face()
        drawn = lay_out(
            label("caution", signal="CAUTION", words="LASER LIGHT", pictogram=sign),
            face,
            LabelSettings("L.EX"),
        )
        points = [point for shape in drawn.shapes for point in shape.points_mm]
        assert all(0.9 <= x <= face.width_mm - 0.9 for x, _ in points)
        assert all(0.9 <= y <= face.height_mm - 0.9 for _, y in points)


def test_a_pictogram_that_is_none_is_refused():
    wrong = label("caution", signal="CAUTION", words="LASER LIGHT", pictogram="skull")

    with pytest.raises(LabelRefusal, match="no pictogram 'skull'"):
        lay_out(wrong, shelf.stock("A4-3x8").face(), LabelSettings("L.EX"))


def test_a_caution_has_words_of_the_owners_language_or_own(plant):
    settle(language="de")
    assert caution(plant).fields["signal"] == "VORSICHT"

    settle(language="de", signal="ACHTUNG", words="LASERLICHT")

    assert caution(plant).fields["signal"] == "ACHTUNG"
    with nothing_written(), pytest.raises(Exception, match="both or neither"):
        settle(language="de", signal="", words="LASERLICHT")


# --- Stock and offsets ---------------------------------------------------------------------

OWN = {
    "page_width_mm": 210,
    "page_height_mm": 297,
    "columns": 2,
    "rows": 4,
    "label_width_mm": 90,
    "label_height_mm": 60,
    "margin_left_mm": 10,
    "margin_top_mm": 20,
    "pitch_x_mm": 95,
    "pitch_y_mm": 64,
    "corner_mm": 2,
}


def test_stock_of_ones_own_is_printed_on(plant):
    with opened() as change:
        shelf.describe(change, "our sheet", "sheet", OWN)

    run, content = print_(inside(plant)[:9], "our sheet")

    with opened() as change:
        VERBS["label_rules.forget_stock"](change, OwnStock.objects.get().pk)
    assert orders.reprinted(run).content == content
    assert len(page_texts(content)) == 2


def test_stock_that_runs_off_the_page_is_refused(plant):
    with (
        nothing_written(),
        pytest.raises(LabelRefusal, match=r"run 8\.00 mm off the right edge"),
        opened() as change,
    ):
        shelf.describe(change, "our sheet", "sheet", {**OWN, "pitch_x_mm": 118})


def test_stock_has_a_name_of_its_own(plant):
    with nothing_written(), pytest.raises(LabelRefusal, match="already"), opened() as change:
        shelf.describe(change, "A4-3x7", "sheet", OWN)


def test_a_printer_keeps_its_offset_for_each_sheet(plant):
    with opened() as change:
        VERBS["label_rules.nudge"](
            change,
            printer="office",
            stock="A4-3x7",
            right_mm=Decimal("-0.50"),
            down_mm=Decimal("1.25"),
        )

    offset = shelf.offset_of("office", "A4-3x7")
    assert (offset.x_mm, offset.y_mm) == (-0.5, 1.25)
    assert shelf.offset_of("office", "A4-3x8").x_mm == 0
    with refused("malformed", "no printer's offset", field="down_mm") as change:
        VERBS["label_rules.nudge"](
            change, printer="office", stock="A4-3x7", right_mm=Decimal(0), down_mm=Decimal(40)
        )


# --- The neutral sheet ---------------------------------------------------------------------


def test_the_neutral_sheet_shows_each_connection_of_a_cupboard_once(plant):
    rows = {
        (row.panel, row.port): (row.cable, row.fibre, row.leg)
        for row in patches_in(Place.objects.get(pk=plant.riser))
    }

    assert rows["P", "front 1"] == ("CORD 1", "", "S input 1")
    assert rows["S", "leg 1"] == ("D", "1", "")
    assert ("S", "input 1") not in rows
    assert rows["P", "back 1"][2] == "O PON port 1"
    assert len(rows) == 3


def test_the_neutral_sheet_holds_no_address_and_follows_the_patching(plant):
    riser = Place.objects.get(pk=plant.riser)

    def words():
        sheet = neutral_sheets([cupboard(riser)], "2026-03-02", WORDS)
        return " ".join(word for page in page_texts(sheet.content) for word in page)

    before = words()
    with opened() as change:
        VERBS["joints.part"](change, plant.joint("S.1"))

    assert "leg 1" in before
    assert "leg 1" not in words()
    assert not [each for each in ADDRESS if each.casefold() in before.casefold()]
