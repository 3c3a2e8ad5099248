"""Label sheets: what is printed says little, is read by a decoder, and has its code for good."""

import io
import re

import pdfplumber
import pypdfium2
import pytest
import zxingcpp
from django.conf import settings

from labels.runs import (
    NothingMissing,
    coded,
    issue_missing,
    items_in,
    items_of,
    items_of_cable,
    items_of_point,
    labels_of,
)
from records.changes import VERBS
from records.models import Cable, Change, Equipment, Place, Point, Tag
from records.models.tag_code import NUMBER_COUNT, candidate
from tests.factories import Plant, opened, user
from tests.unchanged import nothing_written

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
    O.1 = S
    S.1 = D ~ U - T
"""

ADDRESS = ("Alder", "Close", "Block", "Flat")


@pytest.fixture
def plant():
    return Plant(PLANT)


@pytest.fixture
def crew(client):
    client.force_login(user())
    return client


def sheet(**fields):
    """Return a sheet form as the page fills it."""
    return {
        "sheet": "A4-5x13",
        "start": "1",
        "right_mm": "0",
        "down_mm": "0",
        "has_owner": "on",
    } | fields


def all_of(crew, **scope):
    """Return what the page of a scope chooses at first."""
    groups = crew.get("/labels/", scope).context["groups"]
    chosen = [group for group in groups if group.is_chosen]
    return scope | {
        "what": [group.what for group in chosen],
        "item": [item.key for group in chosen for item, _ in group.items],
    }


def read_codes(content, dpi=300):
    """Return what an independent decoder reads on all pages."""
    pages = pypdfium2.PdfDocument(content)
    return [
        code.text
        for page in pages
        for code in zxingcpp.read_barcodes(page.render(scale=dpi / 72).to_pil())
    ]


def words_of(content):
    with pdfplumber.open(io.BytesIO(content)) as document:
        return "\n".join(page.extract_text() for page in document.pages)


def scattered():
    return (
        code
        for number in range(5, NUMBER_COUNT, 7_654_321)
        if (code := candidate(number)) is not None
    )


def test_a_sheet_of_a_splitter_has_a_code_for_each_leg_that_leads_to_it(crew, plant):
    answer = crew.post("/labels/", all_of(crew, equipment=plant.id("S")) | sheet())

    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith('attachment; filename="labels-s')
    read = read_codes(answer.content)
    legs = Tag.objects.filter(point__equipment=plant.id("S"), point__role="leg")
    assert len(read) == len(set(read)) == 6  # the box, its input, four legs
    host = settings.LEGBOOK_HOST.upper()
    assert {f"HTTPS://{host}/T/{tag.code}" for tag in legs} < set(read)


def test_codes_are_issued_in_one_change_and_kept_at_the_next_print(crew, plant):
    form = all_of(crew, equipment=plant.id("S")) | sheet()

    first = crew.post("/labels/", form)
    changes = Change.objects.count()
    again = crew.post("/labels/", form)

    assert Change.objects.latest("number").reason.startswith("labels for S (")
    assert Change.objects.count() == changes
    assert sorted(read_codes(first.content)) == sorted(read_codes(again.content))


def test_a_label_says_number_code_and_box_and_no_address(crew, plant):
    form = all_of(crew, place=plant.building) | sheet()
    form["what"] = ["cupboard", "box", "leg", "port", "cable", "home"]
    form["item"] = [item.key for item in items_in(Place.objects.get(pk=plant.building))]

    words = words_of(crew.post("/labels/", form).content)

    tag = Tag.objects.get(point=plant["S.3"])
    assert f"{tag.code[:4]}-{tag.code[4:]}" in words
    assert re.search(r"\b3\b", words)
    assert "S" in words.split()
    assert "L000001" in words
    assert not [word for word in ADDRESS if word.casefold() in words.casefold()]


def test_a_name_that_repeats_an_address_is_left_out(plant):
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("T"), name="Terminal flat 12")
        VERBS["equipment.rename"](change, plant.id("S"), name="S block a")
        VERBS["equipment.rename"](change, plant.id("K"), name="K12")

    fields = {item.name: item.fields for item in items_in(Place.objects.get(pk=plant.building))}

    assert fields["home terminal Terminal flat 12"]["name"] == ""
    assert fields["leg 1 of S block a"]["equipment"] == ""
    assert fields["closure K12"]["name"] == "K12"


def test_an_outlet_in_a_home_shows_its_line_and_no_code(plant):
    (outlet,) = [
        item for item in items_of(Equipment.objects.get(pk=plant.id("U"))) if item.what == "home"
    ]

    assert outlet.fields == {"line": "L000001"}
    assert not outlet.needs_code
    assert labels_of([outlet])[0].code == ""


def test_a_single_port_and_the_ends_of_a_cable_can_be_printed(plant):
    (leg,) = items_of_point(Point.objects.get(pk=plant["S.2"]))
    ends = items_of_cable(Cable.objects.get(pk=plant.id("D")))

    assert (leg.key, leg.kind, leg.fields["number"]) == (f"point-{plant['S.2']}", "leg", "2")
    assert [end.cable_end for end in ends] == ["A", "B"]
    assert items_of_point(Point.objects.get(pk=plant["D.1a"])) == []


def test_of_several_tags_on_a_thing_the_newest_is_printed(plant):
    with opened() as change:
        old, new = VERBS["tags.issue"](change, count=2, candidates=scattered())
        for tag in (old, new):
            VERBS["tags.bind"](change, tag.code, noun="point", thing=plant["S.2"])

    (leg,) = items_of_point(Point.objects.get(pk=plant["S.2"]))

    assert leg.code == new.code


def test_who_comes_second_finds_the_codes_issued(plant):
    items = items_of(Equipment.objects.get(pk=plant.id("S")))
    with opened() as change:
        issue_missing(change, items, scattered())

    with nothing_written(), pytest.raises(NothingMissing), opened() as change:
        issue_missing(change, items, scattered())

    assert not any(item.needs_code for item in coded(items))


def test_only_what_is_chosen_is_printed(crew, plant):
    form = {"equipment": plant.id("S"), "what": ["leg"], "item": [f"point-{plant['S.2']}"]}

    answer = crew.post("/labels/", form | sheet(start="7"))

    assert len(read_codes(answer.content)) == 1
    assert list(Tag.objects.values_list("point", flat=True)) == [plant["S.2"]]


def test_a_look_at_the_sheet_issues_nothing(crew, plant):
    with nothing_written():
        page = crew.get("/labels/", {"equipment": plant.id("S")})
        checked = crew.post("/labels/", all_of(crew, equipment=plant.id("S")) | sheet(check="on"))

    for answer in (page, checked):
        assert "<svg" in answer.content.decode()
        assert "0000-0000" in answer.content.decode()


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"start": "66"}, "has labels 1 to 65; label 66 isn&#x27;t there."),
        ({"start": "x"}, "&#x27;x&#x27; is not a whole number."),
        ({"right_mm": "40"}, "40.0 mm right is no printer"),
        ({"sheet": "A0"}, "Select a valid choice."),
        ({"sheet": "A4-10x27"}, "This can't be printed."),
        ({"item": []}, "Choose what to print."),
    ],
)
def test_what_can_not_be_printed_is_refused_before_a_code_is_issued(crew, plant, fields, text):
    form = all_of(crew, equipment=plant.id("S")) | sheet() | fields

    with nothing_written():
        answer = crew.post("/labels/", form)

    assert answer.status_code == 422
    assert text in " ".join(answer.content.decode().split())


def test_stock_and_offset_are_found_again_at_the_next_sheet(crew, plant):
    form = all_of(crew, equipment=plant.id("S")) | sheet(sheet="A4-3x8", down_mm="0,5")
    crew.post("/labels/", form)

    page = crew.get("/labels/", {"equipment": plant.id("K")})

    assert page.context["form"]["sheet"].value() == "A4-3x8"
    assert page.context["form"]["down_mm"].value() == 0.5


def test_things_to_label_are_looked_up_in_one_box(crew, plant):
    page = crew.get("/labels/", {"q": "S leg 2"}).content.decode()

    assert f'href="/labels/?point={plant["S.2"]}"' in page


def test_a_place_with_too_much_in_it_asks_for_a_part(crew, plant, monkeypatch):
    monkeypatch.setattr("records.web.labels_page.PORTS_MAX", 3)

    page = crew.get("/labels/", {"place": plant.estate}).content.decode()

    assert f'href="/labels/?place={plant.building}"' in page


def test_the_test_page_of_a_sheet_is_a_pdf(crew):
    answer = crew.get("/labels/test-page/A4-5x13")

    assert answer.content.startswith(b"%PDF")
    assert crew.get("/labels/test-page/A0").status_code == 404


@pytest.mark.parametrize("scope", ["place", "equipment", "cable", "point"])
@pytest.mark.parametrize("number", ["4711", "x", "9" * 40])
def test_labels_of_what_does_not_exist_are_not_found(crew, scope, number):
    assert crew.get("/labels/", {scope: number}).status_code == 404


def test_a_page_costs_no_queries_in_proportion_to_its_labels(
    crew, plant, django_assert_max_num_queries
):
    plant.grow("\n".join(f"splitter V{number} 1:16\ncable E{number} 5 m" for number in range(5)))

    with django_assert_max_num_queries(35):
        crew.get("/labels/", {"place": plant.estate})
