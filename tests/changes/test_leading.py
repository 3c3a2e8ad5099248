"""A booked leg leads only to its own dwelling, also where nothing is lit yet."""

import pytest

from records.changes import bookings, joints
from records.changes._leading import LedAstray
from records.queries.invariants import broken
from tests.factories import Plant, opened

pytestmark = pytest.mark.django_db

DARK = """
    splitter S 1:4
    cable D x2 30 m
    outlet U @1
    flat 2
    """


def test_a_leg_booked_for_one_flat_can_not_be_led_to_another_in_the_dark():
    plant = Plant(DARK + "S.1 = D\nbook S.1 for 2")
    ends = plant["D.1b"], plant["U.1a"]

    with pytest.raises(LedAstray) as refused, opened() as change:
        joints.join(change, *ends, kind="mated")

    assert refused.value.code == "led_astray"
    assert "is booked for line" in refused.value.message
    assert "of Alder Close, Block A, Flat 2, but this leads it to" in refused.value.message
    assert "back 1 of U (Alder Close, Block A, Flat 1)" in refused.value.message


def test_nor_when_the_leg_is_lit():
    plant = Plant(
        DARK + "olt O x1\ncable F 900 m\nlight O.1 GPON B+\nO.1 = F = S\nS.1 = D\nbook S.1 for 2"
    )

    with pytest.raises(LedAstray), opened() as change:
        joints.join(change, plant["D.1b"], plant["U.1a"], kind="mated")


def test_a_leg_led_to_one_flat_can_not_be_booked_for_another():
    plant = Plant(DARK + "S.1 = D = U")

    with pytest.raises(LedAstray), opened() as change:
        bookings.book(change, plant["S.1"], line=plant.line("2"))
    with opened() as change:
        bookings.book(change, plant["S.1"], line=plant.line("1"))

    assert list(broken()) == []


def test_the_leg_of_a_splitter_further_on_is_not_the_one_in_question():
    plant = Plant(
        """
        splitter S 1:4
        splitter S2 1:4
        cable D 30 m
        outlet U @1
        S2.1 = D = U
        book S2.1 for 1
        """
    )

    with opened() as change:
        joints.patch(change, plant["S.1"], plant["S2.in"])

    assert list(broken()) == []
