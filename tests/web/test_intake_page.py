"""A crew's sheet on its page: checked first, every fault in its place, all of it or nothing."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from records import intake
from records.models import Booking, Change, LegCondition, Place, Point, Reading
from records.web.forms.intake import IntakeForm
from tests.factories import Plant
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

HEADER = "Building;Floor;Flat;Splitter;Leg;Cable;Fibre;Length;Serial;Reading"
SOUND = (
    "Block B;G;1;S7;1;D1;1;22,5;TX0001;-17,4",
    "Block B;G;2;S7;2;D2;1;24;TX0002;-17,9",
    "Block B;1;3;S7;3;D3;1;31;;",
)


@pytest.fixture
def estate():
    return Plant("")


def text_of(*rows):
    return "\n".join([HEADER, *rows])


def form(**fields):
    """Return what the page sends when nothing is altered in it."""
    assumed = {each.field: str(each.value) for each in intake.assumed()}
    return {"text": "", "estate": "Alder Close", "kept": "", "kept_name": ""} | assumed | fields


def file(content, name="block b.csv"):
    return SimpleUploadedFile(name, content if isinstance(content, bytes) else content.encode())


def words(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def kept(answer):
    return dict(answer.context["kept"])


def test_a_sound_sheet_is_tried_out_and_nothing_is_recorded(crew, estate):
    with nothing_written():
        answer = crew.post("/intake/", form(text=text_of(*SOUND), check="on"))

    assert answer.status_code == 200
    assert answer.context["is_rehearsed"]
    assert "Every row was tried out and taken back again" in words(answer)
    assert "flat 3 0" in words(answer)
    assert "Take in all 3 rows" in words(answer)


def test_a_sheet_is_taken_in_as_one_change(crew, estate):
    before = Change.objects.count()

    answer = crew.post("/intake/", form(text=text_of(*SOUND), **{"take-in": "on"}))

    change = Change.objects.latest("number")
    assert answer["Location"] == f"/changes/{change.number}/"
    assert Change.objects.count() == before + 1
    assert change.reason == "Taken in from pasted rows"
    assert (
        Place.objects.filter(
            kind="flat", name__in=["Flat 1", "Flat 2", "Flat 3", "1", "2", "3"]
        ).count()
        == 3
    )
    assert Booking.objects.open().count() == 3
    assert Reading.objects.count() == 2


def test_an_uploaded_file_need_not_be_chosen_again_to_be_taken_in(crew, estate):
    checked = crew.post("/intake/", form(file=file(text_of(*SOUND)), check="on"))

    answer = crew.post("/intake/", form(**kept(checked), **{"take-in": "on"}))

    assert answer.status_code == 302
    assert Change.objects.latest("number").reason == "Taken in from block b.csv"


def test_a_leg_used_twice_is_shown_with_both_rows(crew, estate):
    rows = (*SOUND, "Block B;1;4;S7;2;D4;1;30;;")

    with nothing_written():
        answer = crew.post("/intake/", form(text=text_of(*rows), **{"take-in": "on"}))

    assert answer.status_code == 422
    assert "3 and 5" in words(answer)
    assert 'data-label="Column">Leg' in answer.content.decode()
    assert "Take in all" not in words(answer)


def test_every_fault_is_told_with_row_column_value_and_what_would_do(crew, estate):
    rows = (SOUND[0], "Block B;G;2;S7;77;D2;x;24;TX0002;loud")

    answer = crew.post("/intake/", form(text=text_of(*rows), check="on"))

    told = [(fault.row, fault.column, fault.value) for fault in answer.context["faults"]]
    assert (3, "Leg", "77") in told
    assert (3, "Fibre", "x") in told
    assert (3, "Reading", "loud") in told
    assert all(fault.allowed for fault in answer.context["faults"])


def test_a_sheet_that_books_a_barred_leg_is_refused_at_the_check(crew, estate):
    estate.grow("splitter S7 1:4\nbar S7.2 broken tail")
    rows = [row.replace("Block B", "Block A") for row in SOUND]

    with nothing_written():
        answer = crew.post("/intake/", form(text=text_of(*rows), check="on"))

    assert answer.context["faults"]
    assert Point.objects.get(pk=estate["S7.2"]).condition == LegCondition.BARRED


def test_the_same_sheet_again_adds_nothing_and_says_so(crew, estate):
    crew.post("/intake/", form(text=text_of(*SOUND), **{"take-in": "on"}))

    with nothing_written():
        checked = crew.post("/intake/", form(text=text_of(*SOUND), check="on"))
        again = crew.post("/intake/", form(text=text_of(*SOUND), **{"take-in": "on"}))

    assert "The record has all of this sheet already" in words(checked)
    assert again.status_code == 302


def test_an_assumption_can_be_changed(crew, estate):
    crew.post(
        "/intake/",
        form(text=text_of(*SOUND), splitter="1:8", cord_length_m="3,5", **{"take-in": "on"}),
    )

    assert Point.objects.filter(equipment__name="S7", role="leg").count() == 8


def test_a_wrong_assumption_is_told_like_any_fault(crew, estate):
    answer = crew.post("/intake/", form(text=text_of(*SOUND), splitter="1:7", check="on"))

    assert any("1:7" in fault.value for fault in answer.context["faults"])


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"", "The file is empty."),
        (b"PK\x03\x04rest", "is a workbook or another zipped file, not CSV."),
        (b"\x00\x01\x02" * 99, "This file is not text."),
        (b"just;some;words\n1;2;3\n", "No header row was found"),
        (b"Building;Flat\nB;1\n", "Missing columns: Splitter, Leg, Cable, Fibre, Length."),
        (b'Building;Flat;Splitter;Leg;Cable;Fibre;Length\n"B;1\n', "can't be read"),
        (b"a;b\n" * 1_500_000, "This file is larger than 5 MB."),
    ],
    ids=["empty", "workbook", "junk", "headerless", "columns", "quotation", "large"],
)
def test_what_is_no_sheet_is_refused_in_words(crew, estate, content, text):
    with nothing_written():
        answer = crew.post("/intake/", form(file=file(content), **{"take-in": "on"}))

    assert answer.status_code == 422
    assert text in words(answer).replace("&#x27;", "'")


def test_no_sheet_at_all_is_asked_for(crew, estate):
    answer = crew.post("/intake/", form(check="on"))

    assert answer.status_code == 422
    assert "Choose a file, or paste the sheet below." in words(answer)


@pytest.mark.parametrize("sheet", ["?", "bm90IGd6aXA=", "H4sIAAAAAAAA"])
def test_a_kept_sheet_that_was_spoilt_is_asked_for_again(crew, estate, sheet):
    answer = crew.post("/intake/", form(kept=sheet, kept_name="b.csv", check="on"))

    assert answer.status_code == 422
    assert "Choose the file again." in words(answer)


def test_a_sheet_with_a_byte_order_mark_and_empty_rows_is_read(crew, estate):
    content = "\ufeff" + "\r\n".join([HEADER, "", SOUND[0], ";;;;;;;;;", SOUND[1], ""])

    answer = crew.post("/intake/", form(file=file(content), check="on"))

    assert not answer.context["faults"]
    assert len(answer.context["plan"].rows) == 2


def test_a_sheet_too_long_for_a_page_is_sent_to_the_command(crew, estate, monkeypatch):
    monkeypatch.setattr("records.web.intake_page.TAKEN_IN_MAX", 2)

    with nothing_written():
        checked = crew.post("/intake/", form(text=text_of(*SOUND), check="on"))
        answer = crew.post("/intake/", form(text=text_of(*SOUND), **{"take-in": "on"}))

    assert "Take in all" not in words(checked)
    assert answer.status_code == 422
    assert "manage.py intake" in words(answer)


def test_a_sheet_that_takes_long_says_so_before(crew, estate, monkeypatch):
    monkeypatch.setattr("records.web.intake_page.SLOW", 1)

    answer = crew.post("/intake/", form(text=text_of(*SOUND), check="on"))

    assert "Press once and leave the page open" in words(answer)


def test_a_sheet_of_flats_is_shown_before_anything_is_asked(crew, estate):
    page = crew.get("/intake/")

    assert page.status_code == 200
    for column in intake.COLUMNS:
        assert column.label in words(page)
    assert len(IntakeForm().assumption_fields()) == len(intake.assumed())


def test_a_pasted_sheet_that_is_too_large_is_refused_with_the_limit(crew):
    answer = crew.post("/intake/", {"text": "x" * 2_700_000, "check": "on"})

    assert answer.status_code == 413
    assert "A page takes at most 2.6 MB of typed or pasted text." in answer.content.decode()
