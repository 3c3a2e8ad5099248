"""Readings beside what the record expects, and beside the last good one."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import joints, readings
from records.optics.readings import Outcome
from records.queries.levels import lit_at
from records.queries.moment import as_it_stood
from records.queries.readings import judged_now, latest_readings, readings_at, with_last_good
from tests.factories import AT, Plant, opened, user

pytestmark = pytest.mark.django_db

PLANT = """
    olt O
    splitter S 1:4
    cable F 900 m
    cable D 30 m
    outlet U @1
    terminal T @1
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 = D ~ U - T
"""


@pytest.fixture
def plant():
    return Plant(PLANT)


def days(count):
    return AT + timedelta(days=count)


def read(plant, lack_db, *, day, recorded=None, point="T", **more):
    """Record a reading so much below typical; None for no light."""
    (lit,) = lit_at([plant[point]])
    level_dbm = None if lack_db is None else lit.level.typical_dbm - lack_db
    with opened(at=days(day if recorded is None else recorded)) as change:
        return readings.read(
            change,
            plant[point],
            wavelength_nm=more.pop("wavelength_nm", 1490),
            level_dbm=level_dbm,
            taken_at=days(day),
            **more,
        )


def resplice(plant, day, loss_db=0.2):
    with opened(at=days(day)) as change:
        joints.measure(change, plant.joint("S.in"), loss_db=loss_db)
    return change.number


def test_the_last_good_reading_stands_beside_each_and_tells_how_far_it_fell(plant):
    read(plant, 0.0, day=1)
    good = read(plant, 0.3, day=2)
    read(plant, 6.0, day=3)

    newest, second, first = readings_at(plant["T"])

    assert newest.verdict.outcome == Outcome.LOW
    assert newest.last_good == good
    assert newest.since_good_db == pytest.approx(-5.7, abs=0.001)
    assert second.last_good == first.reading
    assert first.last_good is None


def test_neither_a_low_nor_a_dark_reading_is_a_good_one(plant):
    read(plant, 6.0, day=1)
    read(plant, None, day=2)

    newest = readings_at(plant["T"])[0]

    assert newest.verdict.outcome == Outcome.NO_LIGHT
    assert newest.last_good is None


def test_only_the_same_wavelength_and_direction_compare(plant):
    read(plant, 0.0, day=1, wavelength_nm=1500)
    read(plant, 6.0, day=2, wavelength_nm=1490)

    (low,) = (each for each in readings_at(plant["T"]) if each.reading.wavelength_nm == 1490)

    assert low.last_good is None


def test_what_was_good_as_the_record_stood_then_stays_good(plant):
    good = read(plant, 0.0, day=1)
    number = resplice(plant, 2, loss_db=8.0)
    read(plant, 0.0, day=3)

    newest, before = readings_at(plant["T"])

    assert newest.last_good == good
    assert newest.since_good_db == pytest.approx(-7.5, abs=0.5)
    assert before.is_before_change
    assert before.lit.since == number


def test_a_reading_put_in_late_is_marked_as_taken_before_the_change(plant):
    number = resplice(plant, 2)
    read(plant, 0.0, day=1, recorded=3)

    (late,) = readings_at(plant["T"])

    assert late.is_before_change
    assert late.lit.since == number
    assert late.reading.change_id > number


def test_a_reading_after_the_change_or_with_it_is_not_marked(plant):
    with opened(at=days(5)) as change:
        joints.measure(change, plant.joint("S.in"), loss_db=0.3)
        readings.read(
            change,
            plant["T"],
            wavelength_nm=1490,
            level_dbm=-18,
            taken_at=days(5) - timedelta(0, 9),
        )
    read(plant, 0.0, day=6)

    assert [each.is_before_change for each in readings_at(plant["T"])] == [False, False]


def test_who_meter_uncertainty_and_time_are_kept(plant):
    with opened(actor=user("clerk"), at=days(2)) as change:
        readings.read(
            change,
            plant["T"],
            wavelength_nm=1490,
            level_dbm=-18.25,
            uncertainty_db=0.3,
            meter="PM-7",
            taken_at=days(1),
            taken_by=user("anna").pk,
        )

    (kept,) = readings_at(plant["T"])

    assert kept.reading.taken_by.username == "anna"
    assert (kept.reading.meter, kept.reading.uncertainty_mdb) == ("PM-7", 300)
    assert kept.reading.taken_at == days(1)


def test_as_it_stood_the_last_good_reading_is_that_of_then(plant):
    good = read(plant, 0.0, day=1)
    low = read(plant, 6.0, day=2)
    read(plant, 0.0, day=3)

    with as_it_stood(low.change_id):
        (newest, _first) = readings_at(plant["T"])

    assert newest.reading.pk == low.pk
    assert newest.last_good.pk == good.pk


def test_the_number_of_queries_does_not_grow_with_the_readings(plant):
    read(plant, 0.0, day=1)
    point = plant["T"]
    with CaptureQueriesContext(connection) as few:
        with_last_good(latest_readings([point]))
    for day in range(2, 9):
        read(plant, 0.1 * day, day=day)

    with CaptureQueriesContext(connection) as many:
        found = with_last_good(latest_readings([point]))

    assert len(many) == len(few) <= 5
    assert found[0].last_good.taken_at == days(7)
    assert judged_now([found[0].reading])[0].verdict == found[0].verdict


def part(plant, *, day):
    with opened(at=days(day)) as change:
        joints.part(change, plant.joint("S.in"))
    return change.number


def test_a_reading_of_light_that_was_taken_away_since_is_older_not_too_high(plant):
    read(plant, 0.0, day=1)
    number = part(plant, day=2)

    (old,) = readings_at(plant["T"])

    assert old.lit is None
    assert old.altered_by == number
    assert old.doubt == ""
    assert old.verdict.outcome != Outcome.HIGH


def test_light_where_the_record_brings_none_has_its_own_word(plant):
    part(plant, day=1)
    with opened(at=days(2)) as change:
        readings.read(change, plant["T"], wavelength_nm=1490, level_dbm=-18)

    (odd,) = readings_at(plant["T"])

    assert (odd.verdict.outcome, odd.altered_by) == (Outcome.UNEXPECTED, None)
    assert odd.doubt == "light was measured here, but the record has no path to this point"
    assert change.warnings == [f"terminal port 1 of T (Alder Close, Block A, Flat 1): {odd.doubt}"]


def test_as_it_stood_before_the_parting_the_reading_was_good(plant):
    kept = read(plant, 0.0, day=1)
    part(plant, day=2)

    with as_it_stood(kept.change_id):
        (then,) = readings_at(plant["T"])

    assert (then.verdict.outcome, then.altered_by) == (Outcome.AS_EXPECTED, None)
