"""Light in the plant: what joints, partings and channels do to it, and what they refuse."""

import contextlib

import pytest

from records.changes import Refusal, joints
from records.models import Feed, Point
from records.queries.invariants import broken
from tests.factories import Plant, opened
from tests.unchanged import nothing_written, refused


def test_light_does_not_run_into_a_port_that_sends_light(db):
    plant = Plant("""
        olt O x2
        cable F 900 m
        light O.1 GPON B+
        O.1 = F
        """)

    with refused("facing_light", "PON port 2 of O", "which sends light itself") as change:
        joints.join(change, plant["F.1b"], plant["O.2"], kind="mated")


def test_two_ports_are_not_joined_in_the_dark(db):
    plant = Plant("""
        olt O x2
        cable F 900 m
        O.1 = F
        """)

    with refused("facing_light", "which sends light itself") as change:
        joints.join(change, plant["F.1b"], plant["O.2"], kind="mated")


def test_a_second_way_is_refused_with_the_channel_and_where_it_is(db):
    plant = Plant("""
        olt O x2
        splitter S 2:4
        cable F 900 m x2
        light O.1 GPON B+
        light O.2 GPON B+
        O.1 = F.1 = S.in1
        O.2 = F.2
        """)

    with refused(
        "same_wavelength",
        "GPON B+ of PON port 2 of O (Alder Close, Hut) would meet GPON B+ of PON port 1 of O",
        "at leg 1 of S (Alder Close, Block A, Riser)",
    ) as change:
        joints.join(change, plant["F.2b"], plant["S.in2"], kind="mated")


def test_a_joint_of_things_in_two_buildings_comes_with_a_warning(db):
    plant = Plant("""
        olt O
        splitter S 1:4
        """)

    with opened() as change:
        joints.join(change, plant["O.1"], plant["S.in"], kind="mated")

    assert [warning.partition(", but")[0] for warning in change.warnings] == [
        "PON port 1 of O is in Alder Close, Hut, input 1 of S in Alder Close, Block A, Riser"
    ]


COUPLED = """
    olt O
    splitter S 1:4
    splitter S2 1:4
    coupler W PON and video
    cord V 2 m
    O.1 - S
    S.1 - W.com
    V = S2
    """


@pytest.mark.parametrize("lit", ["light O.1 GPON B+", ""])
def test_a_leg_is_onward_by_the_plant_and_not_by_what_light_passes(db, lit):
    plant = Plant(COUPLED + lit)

    with opened() as change:
        # The coupler's second branch passes video only.
        joint = joints.join(change, plant["W.2"], plant["V.1a"], kind="mated").pk

    assert Point.objects.get(pk=plant["S.1"]).condition == "onward"
    assert list(broken()) == []

    with opened() as change:
        joints.part(change, joint)

    assert Point.objects.get(pk=plant["S.1"]).condition == "spare"
    assert list(broken()) == []


def test_an_onward_leg_lights_no_home(db):
    plant = Plant(COUPLED + "light O.1 GPON B+\n terminal T @1")
    with opened() as change:
        joints.join(change, plant["W.2"], plant["V.1a"], kind="mated")

    with refused("leg_not_spare", "leg 1 of S", "feeds another splitter") as change:
        joints.patch(change, plant["W.1"], plant["T"])


def test_a_change_with_a_swallowed_refusal_is_not_committed(db):
    plant = Plant("""
        olt O
        splitter S 1:4
        terminal T @1
        flat 2
        light O.1 GPON B+
        O.1 - S
        book S.1 for 2
        """)

    def swallow(change):
        with contextlib.suppress(Refusal):
            joints.patch(change, plant["S.1"], plant["T"])

    with nothing_written(), pytest.raises(RuntimeError, match="let its"), opened() as change:
        swallow(change)

    assert list(broken()) == []


def test_two_technologies_meet_in_a_coupler(db):
    plant = Plant("""
        olt O x2
        splitter S 1:2
        coupler W GPON and XG(S)-PON
        light O.1 GPON B+
        light O.2 XGS-PON N1
        O.1 - W.1
        O.2 - W.2
        W.com - S
        """)

    assert Feed.objects.filter(point=plant["S.2"]).count() == 2
    assert list(broken()) == []
