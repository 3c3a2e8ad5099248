"""A sheet of flats by the API: looked at, taken in, exported and taken in elsewhere."""

from api import idempotency
from records.changes import Overtaken
from records.models import Change, Place
from tests.api.asking import told
from tests.unchanged import nothing_written

SHEET = """building,floor,flat,splitter,leg,cable,fibre,length,serial,reading
Block N,G,1,S,1,D1,1,20,TX1,-18.5
Block N,1,2,S,2,D2,1,23,,
"""


def test_a_preview_tells_what_a_sheet_would_add_and_adds_nothing(api):
    with nothing_written():
        answer = api.post("places/sheet/?preview=true", {"csv": SHEET, "estate": "Elm"})

    assert answer.status_code == 200
    found = answer.json()
    assert {"kind": "flat", "new": 2, "there": 0} in found["counts"]
    assert found["rows"][1]["words"].endswith("D2, leg 2 of S for Flat 2")
    assert found["url"] is None


def test_a_sheet_is_taken_in_once_whatever_is_sent_again(api):
    body = {"csv": SHEET, "estate": "Elm", "reason": "as built", "cord_length_m": 3}

    first = api.post("places/sheet/", body, Idempotency_Key="k1")
    again = api.post("places/sheet/", body, Idempotency_Key="k1")
    without_a_key = api.post("places/sheet/", body)

    assert (first.status_code, again.json()) == (201, first.json())
    assert Change.objects.get(number=first.json()["number"]).reason == "as built"
    assert (without_a_key.status_code, without_a_key.json()["url"]) == (200, None)
    assert Place.objects.filter(kind="flat").count() == 2


def test_a_sheet_whose_answer_can_not_be_kept_is_not_taken_in(api, monkeypatch):
    def overtaken(_claim, _answer):
        raise Overtaken("The same request was taken over meanwhile.", hint="Repeat it.")

    monkeypatch.setattr(idempotency.Claim, "keep", overtaken)

    answer = api.post("places/sheet/", {"csv": SHEET, "estate": "Elm"}, Idempotency_Key="k1")

    told(answer, 409, "overtaken")
    assert not Place.objects.filter(kind="flat").exists()


def test_what_is_exported_is_taken_in_elsewhere(api):
    api.post("places/sheet/", {"csv": SHEET, "estate": "Elm"})
    building = Place.objects.get(kind="building").pk
    file = api.get(f"places/{building}/exports/sheet/file/", addresses="true").content.decode()
    document = api.read(f"places/{building}/exports/sheet/", addresses="true")
    moved = file.replace("Elm", "Oak").replace("TX1", "TY1")

    answer = api.post("places/sheet/", {"csv": moved, **document["assumed"]})

    assert answer.status_code == 201, answer.content
    assert Place.objects.filter(kind="flat").count() == 4


def test_each_fault_is_told_with_its_row_and_column(api):
    wrong = SHEET.replace(",S,2,", ",S,99,")

    with nothing_written():
        problem = told(
            api.post("places/sheet/", {"csv": wrong, "estate": "Elm"}), 422, "malformed"
        )

    assert [each["field"] for each in problem["errors"]] == ["csv, row 3, leg"]


def test_an_assumption_of_an_unknown_name_is_refused(api):
    problem = told(api.post("places/sheet/", {"csv": SHEET, "spliter": "1:8"}), 422, "malformed")

    assert "spliter" in str(problem["errors"])
