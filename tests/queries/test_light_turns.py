"""A home that another channel lights has not gone dark, and a standby is called by its name."""

import pytest
from django.urls import reverse

from records.changes import channels, jobs, joints
from records.queries.consequences import consequences
from tests.factories import AT, Plant, opened, optical_class, user

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    olt X
    splitter S 2:4
    splitter W 1:4
    cable F 100 m x3
    cord C 2 m
    terminal T @1
    outlet U @1
    light O.1 GPON B+
    light O.2 GPON B+ standby O.1
    book S.3 for 1
    O.1 = F.1 = S.in1
    O.2 = F.2 = S.in2
    S.3 = C = T
"""


@pytest.fixture
def plant():
    """Return a plant with a home on a main channel, protected by a standby."""
    return Plant(PLANT)


def told(change):
    """Return what a change did to light, sure to be what history says of it."""
    effect = {
        what.removeprefix("terminals_"): value
        for what, value in change.effect().items()
        if what.startswith("terminals_") and value
    }
    homes = consequences(change.number, fed=change.fed).homes
    assert effect.get("darkened", []) == [each.point_id for each in homes if each.goes_dark]
    assert effect.get("lit", []) == [each.point_id for each in homes if each.gets_light]
    return effect


def test_a_home_whose_main_feeder_is_parted_is_on_standby_and_dark_after_the_other(plant):
    with opened() as change:
        joints.part(change, plant.joint("F.1b"))
        assert told(change) == {"on_standby": [plant["T"]]}
    with opened() as change:
        joints.part(change, plant.joint("F.2b"))
        assert told(change) == {"darkened": [plant["T"]]}
    with opened() as change:
        joints.join(change, plant["F.2b"], plant["S.in2"], kind="mated")
        assert told(change) == {"lit": [plant["T"]]}
    with opened() as change:
        joints.join(change, plant["F.1b"], plant["S.in1"], kind="mated")
        assert told(change) == {}


def test_a_home_that_loses_its_standby_or_a_second_technology_is_kept_lit(plant):
    with opened() as change:
        channels.darken(change, plant.channel("O.2"))
        assert told(change) == {"kept_lit": [plant["T"]]}
    with opened() as change:
        both = channels.light(change, plant["O.1"], optical_class=optical_class("XGS-PON N1"))
        assert told(change) == {}
    with opened() as change:
        channels.darken(change, both.pk)
        assert told(change) == {"kept_lit": [plant["T"]]}


def test_main_and_standby_parted_in_one_change_leave_the_home_dark_step_by_step(plant):
    parting = [
        {"verb": "joints.part", "arguments": {"joint": plant.joint(end)}}
        for end in ("F.1b", "F.2b")
    ]
    with opened() as change:
        job = jobs.draft(change, name="Cut over", place=plant.riser, steps=parting)

    preview = jobs.preview(job.pk, actor=user(), at=AT)

    home = ("T of Alder Close, Block A, Flat 1",)
    assert [(each.on_standby, each.darkened) for each in preview.steps] == [(home, ()), ((), home)]
    assert [each.terminal for each in preview.dark] == ["T"]


def test_the_page_of_a_change_says_on_standby(plant, client):
    client.force_login(user())
    with opened() as change:
        joints.part(change, plant.joint("F.1b"))

    page = client.get(reverse("change", args=[change.number])).content.decode()

    assert "On standby: 1" in page
    assert "Went dark" not in page
