"""The files of a place by the API."""

import pytest

from records.changes import bookings, places
from records.models import Change
from tests.api.asking import told
from tests.factories import opened


def test_a_place_tells_which_files_it_has(api, plant):
    found = api.read(f"places/{plant.building}/exports/")

    assert [each["what"] for each in found] == ["sheet", "homes", "legs", "cables", "readings"]
    assert found[2]["url"] == f"/api/places/{plant.building}/exports/legs/"


def test_a_file_tells_what_it_leaves_out_by_name(api, plant):
    found = api.read(f"places/{plant.building}/exports/sheet/", addresses="true")

    left_out = {each["what"]: each["names"] for each in found["left_out"]}
    assert left_out["barred legs"] == ["leg 8 of T (Riser): broken tail"]
    assert found["assumed"]["splice"] == "fusion splice"
    assert found["rows"] == 3
    assert "Terminal serial" in found["columns"]


def test_the_file_is_answered_as_the_place_stood(api, plant):
    number = Change.objects.latest("number").number
    with opened() as change:
        bookings.bar(change, plant["S.2"], why="wet")
    address = f"places/{plant.building}/exports/legs/file/"

    now = api.get(address, addresses="true")
    then = api.get(address, addresses="true", as_of=str(number))

    assert now.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert ("wet" in now.content.decode(), "wet" in then.content.decode()) == (True, False)
    assert f"legs-after-change-{number}-with-addresses.csv" in then["Content-Disposition"]


def test_addresses_come_only_where_they_are_asked_for(api, plant):
    with opened() as change:
        places.rename(change, plant.flat("2"), name="Zebra Loft")
    address = f"places/{plant.building}/exports/homes/file/"

    assert "Zebra" not in api.get(address).content.decode()
    assert "Zebra Loft" in api.get(address, addresses="true").content.decode()


@pytest.mark.parametrize("end", ["", "file/"])
def test_a_file_that_is_not_known_is_refused(api, plant, end):
    problem = told(api.get(f"places/{plant.building}/exports/nothing/{end}"), 422, "malformed")

    assert "no export 'nothing'" in problem["detail"]
