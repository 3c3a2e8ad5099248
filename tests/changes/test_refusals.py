"""A refusal is whole sentences, and names what was sought."""

import pytest

from records.changes import bookings, channels, joints, places
from tests.factories import Plant, optical_class
from tests.unchanged import refused

pytestmark = pytest.mark.django_db


def test_a_refusal_begins_with_a_capital_also_where_it_begins_with_a_name():
    plant = Plant("splitter S 1:4\nflat 1\nflat 2\nbook S.3 for 1")

    with refused("leg_booked", "Leg 3 of S (Alder Close, Block A, Riser) is held") as change:
        bookings.book(change, plant["S.3"], line=plant.line("2"))
    with refused("both_send", "Leg 1 of S and leg 2 of S both send light down.") as change:
        joints.join(change, plant["S.1"], plant["S.2"], kind="mated")


def test_a_wrong_id_is_told_by_what_was_sought():
    plant = Plant("olt O\nflat 1")

    with refused("missing", "There is no leg number 999.", field="leg") as change:
        bookings.book(change, 999, line=plant.line("1"))
    with refused("missing", "There is no PON port number 999.", field="port") as change:
        channels.light(change, 999, optical_class=optical_class("GPON B+"))


def test_a_text_that_no_keyboard_writes_is_refused():
    plant = Plant("flat 1")

    with refused("malformed", "The name has a character that can't be shown.") as change:
        places.rename(change, plant.flat("1"), name="Flat\x00 1")
