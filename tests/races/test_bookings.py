"""Many processes at once book the same legs: none twice, none lost, and history in order."""

import pytest

from records.models import Booking, Change, Point, Role
from records.queries import chain
from records.queries.invariants import broken
from tests.factories import Plant
from tests.races.crews import race

CREWS = 16
LEGS = 200


@pytest.fixture
def plant(transactional_db):
    flats = "\n".join(f"flat {number}" for number in range(LEGS))
    return Plant(f"splitter S 1:128\n splitter S2 1:64\n splitter S3 1:8\n{flats}")


def test_no_leg_is_booked_twice(plant):
    told = race(CREWS)

    legs = Point.objects.filter(role=Role.LEG)
    assert legs.count() == LEGS
    assert Booking.objects.open().count() == told["booked"] > 0
    assert sum(told.values()) == CREWS * LEGS
    assert told["leg_booked"]  # there was a race to lose
    assert set(told) <= {"booked", "leg_booked", "line_booked"}
    assert Change.objects.filter(verb="bookings.book").count() == told["booked"]
    assert list(broken()) == []
    assert chain.first_break() is None


def test_without_turns_the_race_goes_wrong(only_postgresql, plant):
    """The control arm. SQLite has none: a change writes with its first statement, so it waits."""
    race(CREWS, "without turns")

    # Numbers no longer follow the order of the commits.
    assert chain.first_break() is not None
