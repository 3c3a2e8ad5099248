"""Many processes at once book the same legs: none twice, none lost, and history in order."""

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from django.db import connection

from records.models import Booking, Change, Point, Role
from records.queries import chain
from records.queries.invariants import broken
from tests.factories import Plant

CREWS = 16
LEGS = 200
CREW = Path(__file__).with_name("crew.py")


@pytest.fixture
def plant(transactional_db):
    flats = "\n".join(f"flat {number}" for number in range(LEGS))
    return Plant(f"splitter S 1:128\n splitter S2 1:64\n splitter S3 1:8\n{flats}")


def _race(*options):
    """Let all crews begin at the same moment; return what they say in sum."""
    crews = [
        subprocess.Popen(
            [sys.executable, str(CREW), str(number), *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "DATABASE_URL": _url()},
        )
        for number in range(CREWS)
    ]
    for crew in crews:
        assert crew.stdout.readline() == "ready\n"
    for crew in crews:
        crew.stdin.write("go\n")
        crew.stdin.flush()
    told: Counter[str] = Counter()
    for crew in crews:
        said, _ = crew.communicate(timeout=240)
        assert crew.returncode == 0
        told.update({word.split("=")[0]: int(word.split("=")[1]) for word in said.split()})
    return told


def _url():
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    host = str(database["HOST"]).replace("/", "%2F")
    port = f":{database['PORT']}" if database["PORT"] else ""
    password = f":{database['PASSWORD']}" if database["PASSWORD"] else ""
    return f"postgresql://{database['USER']}{password}@{host}{port}/{database['NAME']}"


def test_no_leg_is_booked_twice(plant):
    told = _race()

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
    _race("without")

    # Numbers no longer follow the order of the commits.
    assert chain.first_break() is not None
