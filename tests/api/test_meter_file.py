"""A meter's file by request: every verdict first, then all or nothing."""

from records.models import Change, Reading
from records.queries.levels import lit_at
from tests.api.asking import told

CSV = "Where,Wavelength,Level,Meter,Time\n"


def row(where="leg 1 of S", level="-17.5", time="2026-03-02 09:00"):
    return f"{where},1490,{level},PM-7,{time}\n"


def test_a_preview_shows_each_verdict_and_records_nothing(api, plant):
    (lit,) = lit_at([plant["H"]])
    csv = CSV + row("Flat 1", f"{lit.level.typical_dbm - 8:.2f}")

    answer = api.post("readings/file/?preview=true", {"csv": csv})

    (shown,) = answer.json()["rows"]
    assert answer.status_code == 200
    assert shown["point"] == plant["H"]
    assert (shown["verdict"]["outcome"], round(shown["verdict"]["difference_db"], 1)) == (
        "low",
        -8,
    )
    assert shown["taken_by"] == "crew"
    assert not Reading.objects.exists()


def test_a_file_is_recorded_once_whatever_is_repeated(api, plant):
    body = {"csv": CSV + row() + row("leg 2 of S", "no light"), "reason": "evening round"}

    first = api.post("readings/file/", body, Idempotency_Key="k1")
    again = api.post("readings/file/", body, Idempotency_Key="k1")
    other_key = api.post("readings/file/", body, Idempotency_Key="k2")

    number = first.json()["number"]
    assert first.status_code == 201
    assert first.headers["Location"] == f"/api/changes/{number}/"
    assert again.json() == first.json()
    assert (other_key.status_code, other_key.json()["number"]) == (200, None)
    assert [each["is_there_already"] for each in other_key.json()["rows"]] == [True, True]
    assert Reading.objects.count() == 2
    assert Change.objects.get(number=number).reason == "evening round"


def test_each_fault_is_listed_by_row_and_column_and_nothing_is_recorded(api, plant):
    csv = CSV + row(level="+40") + row(level='"-17,5"') + row("nowhere") + row("leg 2 of S")

    problem = told(api.post("readings/file/", {"csv": csv}), 422, "malformed")

    assert [each["field"] for each in problem["errors"]] == [
        "csv, row 2, Level",
        "csv, row 3, Level",
        "csv, row 4, Where",
    ]
    assert all(each["detail"] and each["allowed"] for each in problem["errors"])
    assert not Reading.objects.exists()


def test_a_fault_of_the_whole_file_names_no_row_and_a_clash_names_all_its_rows(api, plant):
    empty = told(api.post("readings/file/", {"csv": CSV}), 422, "malformed")
    twice = told(api.post("readings/file/", {"csv": CSV + row() * 2}), 422, "malformed")

    assert [each["field"] for each in empty["errors"]] == ["csv"]
    assert [each["field"] for each in twice["errors"]] == ["csv, rows 2 and 3, Where"]


def test_what_is_no_file_of_readings_is_refused_in_words(api, plant):
    problem = told(api.post("readings/file/", {"csv": "Where,Tempo\n"}), 422, "malformed")
    told(api.post("readings/file/", {"csv": "a,b\n" * 500_000}), 413, "too_large")

    assert "No header row" in problem["detail"]


def test_a_reading_tells_its_last_good_one(api, plant):
    (lit,) = lit_at([plant["H"]])
    good, low = (f"{lit.level.typical_dbm - lack:.2f}" for lack in (0, 8))
    csv = CSV + row("Flat 1", good) + row("Flat 1", low, "2026-03-02 10:00")
    api.post("readings/file/", {"csv": csv})

    verdict = api.read("readings/")["results"][1]["verdict"]

    assert verdict["last_good"]["level_dbm"] == float(good)
    assert verdict["since_good_db"] == -8.0
    assert verdict["last_good"]["taken_by"] == "crew"
