"""The pages of labels: choose, look, print, find again what was printed."""

import io
import re

import pdfplumber
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from records.changes import VERBS
from records.models import (
    CautionSign,
    Change,
    OwnStock,
    PrintedLabel,
    PrinterOffset,
    PrintRun,
    Tag,
)
from records.models.tag_code import grouped
from tests.factories import Plant, opened
from tests.labels.readers import rasterised, read
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


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def sent(crew, **scope):
    """Return what the page of a scope sends as it is first shown."""
    page = crew.get("/labels/print", scope)
    groups = page.context["groups"]
    return scope | {
        "what": [group.what for group in groups],
        "item": [
            each.standing.item.key for group in groups for each in group.choices if each.is_chosen
        ],
        "stock": "A4-4x10",
        "start": "1",
        "right_mm": "0",
        "down_mm": "0",
        "file": "pdf",
        "printer": "",
        "cable_label": "",
        "shown": ["equipment", "size"],
        "token": page.context["token"],
    }


def print_(crew, **scope):
    answer = crew.post("/labels/print", sent(crew, **scope))
    assert answer.status_code == 302, answer.context["refusal"]
    return PrintRun.objects.latest("pk")


def said(answer):
    return " ".join(answer.content.decode().split())


def test_what_was_printed_has_a_page_and_a_file(crew, plant):
    run = print_(crew, equipment=plant.id("S"))

    page = crew.get(f"/labels/runs/{run.pk}/")
    file = crew.get(f"/labels/runs/{run.pk}/file")

    assert "by crew" in said(page)
    assert file["Content-Type"] == "application/pdf"
    read_back = {text.rpartition("/")[2] for text in read(rasterised(file.content, 300)[0])}
    assert read_back == set(Tag.objects.values_list("code", flat=True))
    for code in read_back:
        assert grouped(code) in said(page)
    assert f'/labels/runs/{run.pk}/"' in said(crew.get("/labels/"))


def test_the_file_is_the_same_to_the_byte_each_time(crew, plant):
    run = print_(crew, place=plant.building)

    files = {crew.get(f"/labels/runs/{run.pk}/file").content for _ in range(2)}

    assert len(files) == 1


def test_a_file_that_would_differ_is_not_handed_out_unsaid(crew, plant, monkeypatch):
    run = print_(crew, equipment=plant.id("S"))
    monkeypatch.setattr("records.web.printing_runs.digest", lambda _content: "another")

    answer = crew.get(f"/labels/runs/{run.pk}/file")

    assert answer.status_code == 409
    assert "not the same to the byte" in said(answer)
    assert crew.get(f"/labels/runs/{run.pk}/file?anyway=1").content.startswith(b"%PDF")


def test_a_look_prints_nothing(crew, plant):
    form = sent(crew, equipment=plant.id("S"))

    with nothing_written():
        page = crew.get("/labels/print", {"equipment": plant.id("S")})
        checked = crew.post("/labels/print", form | {"check": "on"})
        second = crew.post("/labels/print", form | {"page": "2"})

    for answer in (page, checked, second):
        assert "<svg" in said(answer)
        assert "0000-0000" in said(answer)


def test_a_picture_shows_one_sheet_and_leads_to_the_next(crew, plant):
    plant.grow("splitter V 1:64")
    form = sent(crew, equipment=plant.id("V"))

    first = crew.post("/labels/print", form | {"check": "on"})
    second = crew.post("/labels/print", form | {"page": "2"})
    endless = crew.post("/labels/print", form | {"page": "9" * 5000})

    assert "66 labels, page 1 of 2" in said(first)
    assert 'name="page" value="2"' in said(first)
    assert "page 2 of 2" in said(second)
    assert "page 1 of 2" in said(endless)
    assert first.context["picture"] != second.context["picture"]


def test_sending_twice_prints_once(crew, plant):
    form = sent(crew, equipment=plant.id("S"))

    answers = [crew.post("/labels/print", form) for _ in range(2)]

    assert PrintRun.objects.count() == 1
    assert answers[0]["Location"] == answers[1]["Location"]


def test_a_page_without_its_token_prints_nothing(crew, plant):
    with nothing_written():
        answer = crew.post("/labels/print", sent(crew, equipment=plant.id("S")) | {"token": "x"})

    assert answer.status_code == 422
    assert "shown too long ago" in said(answer)


def test_only_what_is_chosen_is_printed(crew, plant):
    form = sent(crew, equipment=plant.id("S"))
    form |= {"what": ["leg"], "item": [f"point-{plant['S.2']}"]}

    crew.post("/labels/print", form)

    assert [label.thing for label in PrintedLabel.objects.all()] == [plant["S.2"]]


def test_what_needs_printing_is_ticked_at_first_and_no_more(crew, plant):
    assert sent(crew, place=plant.building)["item"]
    print_(crew, place=plant.building)
    assert sent(crew, place=plant.building)["item"] == []

    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("K"), name="K2")

    assert sent(crew, place=plant.building)["item"] == [f"equipment-{plant.id('K')}"]
    everything = crew.get("/labels/print", {"place": plant.building, "choose": "all"})
    assert everything.context["count"] > 10


def test_fields_may_be_left_out(crew, plant):
    form = sent(crew, equipment=plant.id("S")) | {"shown": []}

    crew.post("/labels/print", form)

    assert PrintedLabel.objects.get(thing=plant["S.2"], noun="point").fields == {"number": "2"}


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"start": "41"}, "has labels 1 to 40; label 41 isn&#x27;t there."),
        ({"start": "x"}, "&#x27;x&#x27; is not a whole number."),
        ({"right_mm": "40"}, "40.0 mm right is no printer"),
        ({"stock": "A0"}, "is not among the choices."),
        ({"stock": "A4-10x27"}, "Nothing was printed, and no code was issued."),
        ({"file": "png"}, "Pictures are for rolls"),
        ({"item": []}, "There is no label to print."),
    ],
)
def test_what_can_not_be_printed_leaves_nothing(crew, plant, fields, text):
    form = sent(crew, equipment=plant.id("S")) | fields

    with nothing_written():
        answer = crew.post("/labels/print", form)

    assert answer.status_code == 422
    assert text in said(answer)


def test_where_a_qr_has_no_room_the_form_says_so_with_the_figure(crew, plant):
    form = sent(crew, point=plant["S.2"]) | {"stock": "A4-7x27"}

    looked = said(crew.post("/labels/print", form | {"check": "on"}))
    printed = said(crew.post("/labels/print", form, follow=True))

    for page in (looked, printed):
        assert re.search(
            r"would have modules of 0\.\d\d mm; the smallest .* Printed as text\.", page
        )


def test_stock_is_found_again_at_the_next_run(crew, plant):
    crew.post("/labels/print", sent(crew, equipment=plant.id("S")) | {"stock": "A4-3x8"})

    page = crew.get("/labels/print", {"equipment": plant.id("K")})

    assert page.context["form"]["stock"].value() == "A4-3x8"


def test_a_label_is_printed_again_and_a_spoiled_one_said(crew, plant):
    run = print_(crew, equipment=plant.id("S"))
    label = run.labels.get(thing=plant["S.2"], noun="point")

    looked = crew.get(f"/labels/printed/{label.pk}/spoil")
    assert looked["Location"] == f"/labels/runs/{label.run_id}/"
    spoiled = crew.post(f"/labels/printed/{label.pk}/spoil", {"why": "smeared"}, follow=True)
    again = print_(crew, label=label.pk)

    assert "spoiled: smeared" in said(spoiled)
    assert [each.tag for each in again.labels.all()] == [label.tag]
    refused = crew.post(f"/labels/printed/{label.pk}/spoil", {"why": "smeared"})
    assert refused.status_code == 409
    assert "spoiled already" in said(refused)


def test_a_spoiling_says_why(crew, plant):
    label = print_(crew, equipment=plant.id("K")).labels.get()

    with nothing_written():
        answer = crew.post(f"/labels/printed/{label.pk}/spoil", {"why": " "})

    assert answer.status_code == 422


def test_blank_tags_are_printed_and_a_lost_roll_is_voided(crew, plant):
    page = crew.get("/labels/blank")
    form = {
        "count": "5",
        "stock": "die-38x19",
        "start": "1",
        "right_mm": "0",
        "down_mm": "0",
        "file": "png",
        "token": page.context["token"],
    }

    answer = crew.post("/labels/blank", form)
    run = PrintRun.objects.get()
    file = crew.get(f"/labels/runs/{run.pk}/file")
    looked = crew.get(f"/labels/runs/{run.pk}/void-blanks")
    assert looked["Location"] == f"/labels/runs/{run.pk}/"
    voided = crew.post(f"/labels/runs/{run.pk}/void-blanks", {"why": "lost"}, follow=True)

    assert answer.status_code == 302
    assert file["Content-Type"] == "application/zip"
    assert Tag.objects.filter(voided="").count() == 0
    assert "Voided 5 blank tags" in said(voided)


@pytest.mark.parametrize(
    ("count", "words"),
    [
        ("0", "0 is too small; give at least 1."),
        ("x", "is not a whole number."),
        ("999999", "A run of 999999 labels is not possible. Print 1 to 10,000"),
        ("", "This is empty. Fill it in."),
    ],
)
def test_a_silly_count_of_blank_tags_prints_nothing(crew, count, words):
    form = {
        "count": count,
        "stock": "A4-7x27",
        "start": "1",
        "file": "pdf",
        "token": crew.get("/labels/blank").context["token"],
    }

    with nothing_written():
        answer = crew.post("/labels/blank", form)

    assert answer.status_code == 422
    assert words in said(answer)


def test_the_standing_of_a_place_names_what_to_replace(crew, plant):
    print_(crew, place=plant.building)
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="S-new")
        VERBS["equipment.remove"](change, plant.id("K"))

    page = said(crew.get("/labels/standing", {"place": plant.building}))

    assert "name: it says “S”, now “S-new”" in page
    assert "To take off" in page
    assert "Every port has one." in page
    assert re.search(r"\d+ labels that no one has scanned", page)


def test_a_place_with_too_much_in_it_asks_for_a_part(crew, plant, monkeypatch):
    monkeypatch.setattr("labels.choices.ITEMS_MAX", 3)

    for page in ("print", "standing"):
        shown = said(crew.get(f"/labels/{page}", {"place": plant.estate}))
        assert f'href="/labels/{page}?place={plant.building}"' in shown


def test_many_labels_are_chosen_by_sort_and_need_alone(crew, plant, monkeypatch):
    monkeypatch.setattr("records.web.printing.LISTED_MAX", 3)
    form = sent(crew, place=plant.building) | {"unlisted": "on", "item": [], "what": ["leg"]}
    assert 'name="item"' not in said(crew.get("/labels/print", {"place": plant.building}))

    crew.post("/labels/print", form)
    again = crew.post("/labels/print", form)
    everything = crew.post("/labels/print", form | {"choose": "all", "check": "on"})

    assert PrintRun.objects.get().label_count == 4
    assert again.status_code == 302  # the very same form is no second run
    assert everything.context["count"] == 4


def test_things_to_label_are_looked_up_in_one_box(crew, plant):
    page = said(crew.get("/labels/", {"q": "S leg 2"}))

    assert f'href="/labels/print?point={plant["S.2"]}"' in page


def test_the_neutral_sheet_of_a_cupboard_is_offered_with_its_labels(crew, plant):
    page = said(crew.get("/labels/print", {"place": plant.building}))
    assert f'href="/labels/neutral/{plant.riser}"' in page

    sheet = crew.get(f"/labels/neutral/{plant.riser}").content

    with pdfplumber.open(io.BytesIO(sheet)) as document:
        words = document.pages[0].extract_text()
    assert "Riser" in words
    assert "leg 1" in words


def test_neutral_sheets_print_with_the_labels_in_one_file(crew, plant):
    with opened() as change:
        for name in ("Shaft 2", "Shaft 10"):
            VERBS["places.add"](change, kind="riser cupboard", name=name, parent=plant.building)
    page = said(crew.get("/labels/print", {"place": plant.building}))
    assert f'href="/labels/neutral/{plant.building}/inside">All 3 neutral sheets' in page
    run = print_(crew, place=plant.building)
    assert "Neutral sheets of its 3 cupboards" in said(crew.get(f"/labels/runs/{run.pk}/"))

    both = (f"neutral/{plant.building}/inside", f"runs/{run.pk}/neutral")
    for content in (crew.get(f"/labels/{address}").content for address in both):
        with pdfplumber.open(io.BytesIO(content)) as document:
            heads = [each.extract_text().partition("\n")[0] for each in document.pages]
        assert heads == [f"Present patching {name}" for name in ("Riser", "Shaft 2", "Shaft 10")]


def test_a_hazard_statement_is_recorded_shown_and_printed(crew, plant):
    assert "None is recorded" in said(crew.get(f"/labels/hazards/{plant.riser}/"))
    with opened() as change:
        VERBS["hazards.state"](
            change,
            plant.riser,
            hazard_level="1M",
            assessor="A. Assessor",
            stated_date=change.at.date(),
        )

    page = said(crew.get(f"/labels/hazards/{plant.riser}/"))
    picture = said(crew.get("/labels/print", {"place": plant.riser}))

    assert "as A. Assessor stated on 2026-03-02" in page
    assert "HAZARD LEVEL 1M" in picture
    assert "can't be printed" not in picture


def test_an_offset_is_stored_and_moves_what_is_printed(crew, plant):
    stored = crew.post(
        "/labels/stock",
        {
            "nudge": "on",
            "printer": "office",
            "stock": "A4-4x10",
            "right_mm": "-0,5",
            "down_mm": "1.25",
        },
    )
    assert stored.status_code == 302
    assert str(PrinterOffset.objects.get()) == "office, A4-4x10"

    crew.post("/labels/print", sent(crew, equipment=plant.id("S")) | {"printer": "office"})

    run = PrintRun.objects.get()
    assert (float(run.right_mm), float(run.down_mm)) == (-0.5, 1.25)
    assert crew.get("/labels/test-page/A4-4x10?printer=office").content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"right_mm": "40", "down_mm": "0"}, "is no printer"),
        ({"right_mm": "x", "down_mm": "0"}, "is not a number"),
        ({"printer": "", "right_mm": "0", "down_mm": "0"}, "required"),
    ],
)
def test_an_offset_that_is_none_is_refused(crew, fields, text):
    form = {"nudge": "on", "printer": "office", "stock": "A4-4x10"} | fields

    with nothing_written():
        answer = crew.post("/labels/stock", form)

    assert answer.status_code == 422
    assert text in said(answer)


SHEET = {
    "describe": "on",
    "name": "our sheet",
    "shape": "sheet",
    "page_width_mm": "210",
    "page_height_mm": "297",
    "columns": "2",
    "rows": "4",
    "label_width_mm": "90",
    "label_height_mm": "60",
    "margin_left_mm": "10",
    "margin_top_mm": "20",
    "pitch_x_mm": "95",
    "pitch_y_mm": "64",
    "corner_mm": "",
}


def test_stock_of_ones_own_is_described_offered_and_forgotten(crew, plant):
    assert crew.post("/labels/stock", SHEET).status_code == 302
    offered = said(crew.get("/labels/print", {"equipment": plant.id("S")}))
    assert "our sheet: 2 by 4, 90 \N{MULTIPLICATION SIGN} 60 mm" in offered

    forgotten = crew.post(f"/labels/stock/{OwnStock.objects.get().pk}/forget")

    assert forgotten.status_code == 302
    assert not OwnStock.objects.exists()


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"pitch_x_mm": "125"}, "off the right edge of the page"),
        ({"pitch_y_mm": "50"}, "overlap at a pitch of 50 mm"),
        ({"rows": "0"}, "rows is 0"),
        ({"label_width_mm": ""}, "required"),
        ({"name": "A4-3x7"}, "There is stock A4-3x7 already."),
    ],
)
def test_stock_that_can_not_be_printed_on_is_refused(crew, fields, text):
    with nothing_written():
        answer = crew.post("/labels/stock", SHEET | fields)

    assert answer.status_code == 422
    assert text in said(answer)


RULES = {
    "host": "LB.EXAMPLE",
    "has_upper_case_link": "on",
    "has_upper_case_text": "on",
    "smallest_module_mm": "0.35",
    "language": "en",
    "signal": "",
    "words": "",
}


def test_the_owner_settles_where_links_lead(crew, plant):
    checked = crew.post("/labels/rules", RULES | {"check": "on"})
    assert "has 28 characters: QR version 2 at level Q" in said(checked)

    assert crew.post("/labels/rules", RULES).status_code == 302

    run = print_(crew, equipment=plant.id("K"))
    file = crew.get(f"/labels/runs/{run.pk}/file").content
    code = Tag.objects.get().code
    assert read(rasterised(file, 300)[0]) == [f"HTTP://LB.EXAMPLE/T/{code}"]


def sign_file(ground="yellow"):
    picture = Image.new("RGB", (90, 90), ground)
    picture.paste("black", (0, 0, 30, 90))
    stream = io.BytesIO()
    picture.save(stream, "PNG")
    return SimpleUploadedFile("sign.png", stream.getvalue())


def _file(ground):
    return {"file": sign_file(ground)} if ground else {}


def test_the_owner_gives_cautions_a_picture_that_stays_until_another_is_given(crew, plant):
    own = RULES | {"pictogram": "own"}
    checked = crew.post("/labels/rules", own | {"check": "on", "file": sign_file()})
    assert 'd="M0 0h30v1h-30z' in checked.content.decode()
    carried = checked.context["kept_picture"]

    assert crew.post("/labels/rules", own | {"picture": carried}).status_code == 302

    page = crew.get("/labels/rules")
    assert page.context["kept_picture"] == carried == CautionSign.objects.get().picture
    assert crew.post("/labels/rules", RULES | {"pictogram": "starburst"}).status_code == 302
    assert CautionSign.objects.get().picture == ""


@pytest.mark.parametrize(
    ("fields", "ground", "text"),
    [
        ({"pictogram": "own"}, None, "needs its picture. Choose its file"),
        ({"pictogram": "own"}, "red", "other colours than black, yellow and white"),
        ({"pictogram": ""}, "yellow", "another pictogram chosen"),
        ({"pictogram": "own", "picture": "QUJD"}, None, "not a PNG picture"),
    ],
)
def test_a_picture_that_is_no_sign_is_refused(crew, fields, ground, text):
    with nothing_written():
        looked, answer = (
            crew.post("/labels/rules", RULES | fields | _file(ground) | check)
            for check in ({"check": "on"}, {})
        )

    assert (looked.status_code, answer.status_code) == (200, 422)
    assert text in said(looked)
    assert text in said(answer)


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"host": "not a host"}, "is not a host name"),
        ({"smallest_module_mm": "0.2"}, "under the published smallest"),
        ({"smallest_module_mm": "9" * 30}, "only wastes label"),
        ({"smallest_module_mm": "9" * 400}, "larger than can be reckoned with"),
        ({"words": "only words"}, "signal word and words"),
    ],
)
def test_rules_by_which_nothing_could_be_printed_are_refused(crew, fields, text):
    with nothing_written():
        answer = crew.post("/labels/rules", RULES | fields)

    assert answer.status_code == 422
    assert text in said(answer)


@pytest.mark.parametrize(
    "address",
    ["print?place=4711", "print?job=x", "print?label=" + "9" * 40, "runs/4711/", "neutral/4711"],
)
def test_labels_of_what_does_not_exist_are_not_found(crew, plant, address):
    assert crew.get(f"/labels/{address}").status_code == 404


def test_a_print_is_a_change_and_history_holds(crew, plant):
    run = print_(crew, equipment=plant.id("S"))

    page = said(crew.get(f"/changes/{run.change_id}/"))

    assert "rinted 6 labels of S (" in page
    assert Change.objects.latest("number").pk == run.change_id


def test_a_page_costs_no_queries_in_proportion_to_its_labels(
    crew, plant, django_assert_max_num_queries
):
    plant.grow("\n".join(f"splitter V{number} 1:16\ncable E{number} 5 m" for number in range(5)))

    with django_assert_max_num_queries(55):
        crew.get("/labels/print", {"place": plant.estate})
