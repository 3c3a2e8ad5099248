"""What became of a thing."""

import pytest

from tests.api.asking import told


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
