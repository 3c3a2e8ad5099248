"""What became of a thing."""

import pytest

from records.changes import bookings
from tests.api.asking import told
from tests.factories import opened


def test_history_tells_who_changed_what_from_what_to_what(api, plant):
    api.do("joints.measure", joint=plant.joint("H"), loss_db=0.35, reason="measured")
    api.do("joints.measure", joint=plant.joint("H"), loss_db=0.3)

    latest, earlier, first = api.read(f"history/joints/{plant.joint('H')}/")

    assert latest["fields_altered"] == [
        {"field": "measured_loss_db", "before": 0.35, "after": 0.3}
    ]
    assert earlier["fields_altered"] == [
        {"field": "measured_loss_db", "before": None, "after": 0.35}
    ]
    assert (earlier["change"]["actor"], earlier["change"]["reason"]) == ("crew", "measured")
    assert [each["what"] for each in (latest, earlier, first)] == ["altered", "altered", "began"]


def test_fields_of_history_are_named_as_in_the_detail(api, plant):
    number, point = plant.id("F"), plant["T.5"]
    api.do("bookings.measure", leg=point, loss_db=10.5)
    api.do("cables.measure", cable=number, fibre=1, length_m=1190.5)
    fibre = api.read("fibres/", cable=number, number=1)["results"][0]

    (of_point, *_) = api.read(f"history/points/{point}/")
    (of_fibre, *_) = api.read(f"history/fibres/{fibre['id']}/")

    assert {each["field"] for each in of_point["fields_altered"]} <= set(
        api.read(f"points/{point}/")
    )
    assert of_fibre["fields_altered"] == [{"field": "length_m", "before": 1200, "after": 1190.5}]


def test_what_is_gone_keeps_its_history(api, plant):
    joint = plant.joint("O.1")
    api.do("joints.part", joint=joint, reason="card swapped")

    latest, first = api.read(f"history/joints/{joint}/")

    assert (latest["what"], first["what"]) == ("ended", "began")
    assert latest["change"]["reason"] == "card swapped"


def test_what_never_was_has_no_history(api, plant):
    told(api.get("history/joints/99999/"), 404, "missing")
    problem = told(api.get("history/clouds/1/"), 404, "missing")
    assert "joints" in problem["hint"]


@pytest.mark.parametrize("address", ["history/joints/1/?as_of=2", "history/feeds/1/"])
def test_a_history_takes_no_moment_and_feeds_have_none(api, plant, address):
    assert api.get(address).status_code in {400, 404}


def test_changes_are_found_by_what_they_touched_by_verb_and_by_job(api, plant):
    with opened(reason="put off") as change:
        bookings.release(change, plant["T.2"])
        bookings.bar(change, plant["T.2"], why="dirty")
    later = api.do("places.rename", place=plant.head_end, name="Shed")["number"]

    def found(**query):
        return [each["number"] for each in api.read("changes/", **query)["results"]]

    built = found(point=plant["T.2"])[-1]
    assert found(point=plant["T.2"]) == [change.number, built]
    assert found(equipment=plant.id("T"))[0] == change.number
    assert found(line=plant.line("2")) == [change.number, built]
    assert found(place=plant.building)[0] == change.number
    assert found(place=plant.head_end)[0] == later
    assert found(verb="bookings.bar", place=plant.building)[0] == change.number
    assert found(verb="bookings.bar", cable=plant.id("D")) == [built]
    assert found(job=10**9) == []
    assert api.read(f"changes/{later}/")["job"] is None
