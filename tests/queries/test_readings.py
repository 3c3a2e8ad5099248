"""Readings beside what the record expects, and beside the last good one."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import (
    cable_works,
    cables,
    catalogue,
    channels,
    cuts,
    equipment,
    joints,
    places,
    readings,
    swaps,
)
from records.changes.figures import GivenFigure
from records.models import Channel, Equipment
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
    cable D2 30 m
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


def remate(plant, day, loss_db=0.2):
    """Part a joint on the way and make it anew: other glass from then on."""
    with opened(at=days(day)) as change:
        joints.part(change, plant.joint("S.in"))
        joints.join(change, plant["F.1b"], plant["S.in"], kind="mated", loss_db=loss_db)
    return change.number


def remeasure(plant, day, loss_db=0.2):
    """Give a joint a measured loss: only the figure is another."""
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
    number = remate(plant, 2, loss_db=8.0)
    read(plant, 0.0, day=3)

    newest, before = readings_at(plant["T"])

    assert newest.last_good == good
    assert newest.since_good_db == pytest.approx(-7.5, abs=0.5)
    assert before.altered_by == number


def test_a_reading_put_in_late_is_marked_as_taken_before_the_change(plant):
    number = remate(plant, 2)
    read(plant, 0.0, day=1, recorded=3)

    (late,) = readings_at(plant["T"])

    assert late.altered_by == number
    assert late.reading.change_id > number


def test_a_reading_after_the_change_or_with_it_is_not_marked(plant):
    with opened(at=days(5)) as change:
        joints.part(change, plant.joint("S.in"))
        joints.join(change, plant["F.1b"], plant["S.in"], kind="mated", loss_db=0.3)
        readings.read(
            change,
            plant["T"],
            wavelength_nm=1490,
            level_dbm=-18,
            taken_at=days(5) - timedelta(0, 9),
        )
    read(plant, 0.0, day=6)

    assert [each.is_before_change for each in readings_at(plant["T"])] == [False, False]


def test_another_figure_moves_what_is_expected_and_leaves_the_reading_current(plant):
    read(plant, 0.0, day=1)
    number = remeasure(plant, 2, loss_db=8.0)

    (kept,) = readings_at(plant["T"])

    assert (kept.is_before_change, kept.reckoned_by) == (False, number)
    assert kept.verdict.outcome == Outcome.HIGH  # it is held against the new figure
    assert kept.verdict.difference_db == pytest.approx(7.5, abs=0.5)


def test_a_new_version_of_an_entry_leaves_the_readings_current(plant):
    read(plant, 0.0, day=1)
    splitter = Equipment.objects.get(name="S")
    figures = [
        GivenFigure(
            bound=bound,
            wavelength_min_nm=1260,
            wavelength_max_nm=1675,
            value_db=value_db,
            source="the crew's own test bench",
        )
        for bound, value_db in (("least", 12.0), ("typical", 12.5), ("most", 13.0))
    ]
    with opened(at=days(2)) as change:
        take_over = catalogue.supersede(change, splitter.entry.pk, figures=figures)
    while True:
        with opened(at=days(3)) as change:
            if not catalogue.take_over(change, take_over.pk):
                break

    (kept,) = readings_at(plant["T"])

    assert kept.altered_by is None
    assert kept.reckoned_by is not None
    assert kept.verdict.outcome == Outcome.HIGH


@pytest.mark.parametrize("work", ["reroute", "move", "swap", "cut", "relight"])
def test_work_on_the_way_makes_a_reading_an_older_one(plant, work):
    read(plant, 0.0, day=1)
    with opened(at=days(2)) as change:
        WORKS[work](change, plant)

    (old,) = readings_at(plant["T"])

    assert old.altered_by == change.number


def _relight(change, plant):
    channel = Channel.objects.get(point=plant["O.1"])
    channels.darken(change, channel.pk)
    channels.light(change, plant["O.1"], optical_class=channel.optical_class_id)


def _move(change, plant):
    cupboard = places.add(change, kind="riser cupboard", name="Cupboard 9", parent=_place(plant))
    equipment.move(change, Equipment.objects.get(name="S").pk, place=cupboard.pk)


def _place(plant):
    return Equipment.objects.get(name="S").place_id


WORKS = {
    "reroute": lambda change, plant: cable_works.reroute(change, plant.id("F"), length_m=901),
    "move": _move,
    "swap": lambda change, plant: swaps.swap(change, Equipment.objects.get(name="S").pk),
    "cut": lambda change, plant: cuts.cut(
        change, plant.id("F"), at_m=400, place=_place(plant), closure_name="C9"
    ),
    "relight": _relight,
}


@pytest.mark.parametrize("work", ["other joint", "other name", "other length"])
def test_work_elsewhere_and_other_names_leave_a_reading_current(plant, work):
    read(plant, 0.0, day=1)
    with opened(at=days(2)) as change:
        if work == "other joint":
            joints.join(change, plant["S.2"], plant["D2.1a"], kind="mated")
        elif work == "other name":
            cables.rename(change, plant.id("F"), name="Feeder 9")
        else:
            cables.measure(change, plant.id("F"), fibre=1, length_m=905)

    (kept,) = readings_at(plant["T"])

    assert kept.altered_by is None


def test_as_it_stood_the_way_is_as_last_worked_on_by_then(plant):
    read(plant, 0.0, day=1)
    first = remate(plant, 2)
    between = remeasure(plant, 3)
    latest = remate(plant, 4)

    altered = {}
    for number in (first - 1, first, between, latest):
        with as_it_stood(number):
            altered[number] = readings_at(plant["T"])[0].altered_by

    assert altered == {first - 1: None, first: first, between: first, latest: latest}


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

    assert len(many) == len(few) <= 6
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


MAIN_AND_STANDBY = """
    olt O x2
    splitter S 2:4
    cable F 100 m x2
    terminal T @1
    light O.1 GPON B+
    light O.2 GPON B+ standby O.1
    O.1 = F.1 = S.in1
    O.2 = F.2 = S.in2
    S.1 = T
"""


def test_a_standby_feeder_is_rightly_dark_while_the_main_one_works():
    # Source: a standby feeder is dark until it takes over (ITU-T G.984.1, type B, from memory)
    doubled = Plant(MAIN_AND_STANDBY)
    for point in ("F.1b", "F.2b", "T"):
        with opened(at=days(1)) as change:
            readings.read(change, doubled[point], wavelength_nm=1490, level_dbm=None)

    main, standby, home = (readings_at(doubled[point])[0] for point in ("F.1b", "F.2b", "T"))

    assert [main.verdict.outcome, home.verdict.outcome] == [Outcome.NO_LIGHT] * 2
    assert (standby.verdict.outcome, standby.is_resting) == (Outcome.AS_EXPECTED, True)
    assert (standby.expected, standby.doubt, standby.altered_by) == (None, "", None)


def test_a_standby_that_stands_in_should_be_lit():
    doubled = Plant(MAIN_AND_STANDBY)
    with opened(at=days(1)) as change:
        joints.part(change, doubled.joint("S.in1"))
        for point in ("F.2b", "T"):
            readings.read(change, doubled[point], wavelength_nm=1490, level_dbm=None)

    outcomes = [readings_at(doubled[point])[0].verdict.outcome for point in ("F.2b", "T")]

    assert outcomes == [Outcome.NO_LIGHT] * 2
