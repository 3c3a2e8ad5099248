"""A meter's file on its page: each reading with its verdict first, then all or nothing."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from records.intake import meter_file
from records.models import Change, Reading
from records.queries.levels import lit_at
from tests.factories import Plant
from tests.unchanged import nothing_written
from tests.web.reading import PLANT, words

HEADER = "Where;Wavelength (nm);Level (dBm);Meter;Time"


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def form(*rows, **fields):
    text = "\n".join([HEADER, *rows]) if rows else ""
    return {"text": text, "kept": "", "kept_name": "", "checked_at": ""} | fields


def row(where="Flat 1", level="-18.2", time="2026-03-02 09:30"):
    return f"{where};1490;{level};PM-7;{time}"


def test_what_would_be_recorded_is_shown_with_verdicts_and_nothing_is(crew, plant):
    level_dbm = lit_at([plant["T1"]])[0].level.typical_dbm

    with nothing_written():
        page = crew.post(
            "/intake/readings/",
            form(row(level=f"{level_dbm - 7:.2f}"), row("leg 3 of S", "no light"), check="on"),
        )

    assert page.status_code == 200
    assert "Row 2: terminal port 1 of T1" in words(page)
    assert "low" in words(page)
    assert "no light" in words(page)
    assert "No good reading before it." in words(page)
    assert "Record 2 readings" in words(page)


def test_a_file_is_checked_and_then_recorded_without_choosing_it_again(crew, plant):
    file = SimpleUploadedFile("round.csv", "\n".join([HEADER, row(time="")]).encode())
    checked = crew.post("/intake/readings/", form(file=file, check="on"))
    kept = dict(checked.context["kept"])

    first = crew.post("/intake/readings/", form(**kept, **{"take-in": "on"}))
    second = crew.post("/intake/readings/", form(**kept, **{"take-in": "on"}))

    change = Change.objects.latest("number")
    assert first["Location"] == f"/changes/{change.number}/"
    assert second["Location"] == "/intake/readings/"
    assert change.reason == "Readings from round.csv"
    assert Reading.objects.get().taken_at.isoformat() == kept["checked_at"]


def test_every_fault_is_told_with_row_column_value_and_what_would_do(crew, plant):
    with nothing_written():
        page = crew.post(
            "/intake/readings/",
            form(row(), row(level="+40"), row(level="-18,2"), **{"take-in": "on"}),
        )

    told = [(fault.row, fault.column, fault.value) for fault in page.context["faults"]]
    assert page.status_code == 422
    assert told == [(3, "Level (dBm)", "+40"), (4, "Level (dBm)", "-18,2")]
    assert "2 faults: nothing was recorded" in words(page)
    assert "Record " not in words(page)


def test_decimal_commas_are_read_when_ticked(crew, plant):
    page = crew.post(
        "/intake/readings/", form(row(level="-18,2"), has_decimal_commas="on", check="on")
    )

    assert not page.context["faults"]
    assert page.context["rows"][0].judged.level_dbm == -18.2


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"PK\x03\x04rest", "is a workbook or another zipped file, not CSV."),
        (b"\x00\x01\x02" * 99, "This file is not text."),
        (b"Where,Level,Wavelength,Temperature\n", "the column is not known here: 'Temperature'."),
        (b"a;b\n" * 12_500_000, "This file is larger than 5 MB."),
    ],
    ids=["workbook", "junk", "column", "50 MB"],
)
def test_what_is_no_file_of_readings_is_refused_in_words(crew, plant, content, text):
    file = SimpleUploadedFile("x.csv", content)

    with nothing_written():
        page = crew.post("/intake/readings/", form(file=file, check="on"))

    assert page.status_code == 422
    assert text in words(page)


def test_a_long_file_asks_no_more_queries_to_be_shown(crew, plant, django_assert_max_num_queries):
    rows = [
        row(time=f"2026-03-02 {hour:02}:{minute:02}") for hour in range(3) for minute in range(60)
    ]
    crew.post("/intake/readings/", form(row(), check="on"))

    with django_assert_max_num_queries(40):
        page = crew.post("/intake/readings/", form(*rows, check="on"))

    assert len(page.context["rows"]) == 180


def test_a_file_too_long_to_wait_for_is_refused_before_it_is_checked(crew, plant, monkeypatch):
    monkeypatch.setattr(meter_file, "WAITED_FOR_MAX", 2)
    monkeypatch.setattr(meter_file, "check", lambda *_, **__: pytest.fail("checked"))

    page = crew.post("/intake/readings/", form(*[row()] * 3, check="on"))

    assert page.status_code == 422
    assert "This file has 3 readings; at most 2 are taken in at once here." in words(page)
    assert "Split it by day or building" in words(page)
