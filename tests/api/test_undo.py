"""What reverses a change, asked for by a request."""

from records.changes import bookings
from tests.api.asking import told
from tests.factories import opened


def test_steps_are_told_as_a_draft_takes_them(api, plant):
    with opened() as change:
        bookings.bar(change, plant["S.3"], why="dirty")

    found = api.read(f"changes/{change.number}/undo/")
    api.do("jobs.draft", name="back", place=found["place"], steps=found["steps"])

    assert found["is_possible"]
    assert (found["place"], found["obstacles"], found["notes"]) == (plant.riser, [], [])
    arguments = {"leg": plant["S.3"]}
    assert found["steps"] == [{"verb": "bookings.unbar", "arguments": arguments, "note": ""}]


def test_obstacles_name_the_later_change(api, plant):
    with opened() as change:
        bookings.bar(change, plant["S.3"], why="dirty")
    with opened() as later:
        bookings.unbar(later, plant["S.3"])

    found = api.read(f"changes/{change.number}/undo/")

    assert not found["is_possible"]
    (obstacle,) = found["obstacles"]
    assert obstacle["change"] == later.number
    assert "leg 3 of S" in obstacle["words"]
    told(api.get("changes/999999/undo/"), 404, "missing")
