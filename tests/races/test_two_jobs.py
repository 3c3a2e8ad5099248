"""Two jobs, each fine alone, that would together light a flat from a leg promised to another."""

from contextlib import contextmanager
from threading import Barrier, Thread

import pytest
from django.db import connection

from records.changes import _serving, _transaction, bookings, jobs, joints
from records.changes.steps import StepRefused
from records.models import Booking, Job, JobState, JointEnd
from records.queries import chain
from records.queries.invariants import broken
from tests.factories import AT, Plant, opened, user
from tests.guards import guards_off, guards_on, run_sql

PLANT = """
    olt O
    splitter S 1:4
    cable F 1200 m
    cable D2 35 m
    outlet U2 @2
    terminal T2 @2
    flat 1
    light O.1 GPON B+
    O.1 = F.1 = S
    D2 ~ U2 - T2
    """
ROUNDS = 5


@pytest.fixture
def plant(transactional_db):
    return Plant(PLANT)


def approved(plant, name, verb, **arguments):
    step = {"verb": verb, "arguments": arguments}
    with opened() as change:
        job = jobs.draft(change, name=name, place=plant.building, steps=[step])
    assert jobs.preview(job.pk, actor=user(), at=AT).clash is None
    with opened(actor=user("lead")) as change:
        return jobs.approve(change, job.pk, revision=1)


def two_jobs(plant, leg):
    """Return a job that promises a leg to flat 1, and one that lights flat 2 from it."""
    return [
        approved(plant, f"promise {leg}", "bookings.book", leg=plant[leg], line=plant.line("1")),
        approved(
            plant, f"join {leg}", "joints.join", a=plant[leg], b=plant["D2.1a"], kind="mated"
        ),
    ]


def raced(both):
    """Commit two jobs at the same moment. Returns what came of each."""
    start = Barrier(len(both))
    came: dict[int, jobs.Recorded | Exception] = {}

    def commit(job):
        try:
            start.wait(timeout=20)
            came[job.pk] = jobs.commit(job.pk, revision=1, actor=user(), at=AT)
        except Exception as error:  # noqa: BLE001 (told by the test, not by the thread)
            came[job.pk] = error
        finally:
            connection.close()

    threads = [Thread(target=commit, args=[job]) for job in both]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return [came.get(job.pk) for job in both]


def test_of_two_jobs_that_clash_one_is_refused(plant):
    for _ in range(ROUNDS):
        both = two_jobs(plant, "S.3")

        came = raced(both)

        refused = [each for each in came if isinstance(each, StepRefused)]
        recorded = [each for each in came if isinstance(each, jobs.Recorded)]
        assert (len(recorded), len(refused)) == (1, 1), came
        assert refused[0].cause.code in {"leg_booked", "leg_of_another", "led_astray"}
        states = sorted(
            Job.objects.filter(pk__in=[job.pk for job in both]).values_list("state", flat=True)
        )
        assert states == [JobState.APPROVED, JobState.RECORDED]
        assert list(broken()) == []
        assert chain.first_break() is None
        start_anew(plant)


def start_anew(plant):
    """Leave the leg as it was, for the next round."""
    with opened() as change:
        end = JointEnd.objects.filter(point=plant["S.3"]).first()
        if end:
            joints.part(change, end.joint_id)
        bookings.release(change, plant["S.3"])


def test_the_same_job_sent_twice_at_once_is_recorded_once(plant):
    job = approved(plant, "promise", "bookings.book", leg=plant["S.3"], line=plant.line("1"))

    came = raced([job, job])

    assert Booking.objects.open().count() == 1
    assert job.changes.filter(verb="bookings.book").count() == 1
    assert all(isinstance(each, jobs.Recorded) for each in came)


@contextmanager
def without_turns_or_nets(monkeypatch):
    """Take the turn away, and the indexes that would catch what it lets through."""
    both_have_booked, waited = Barrier(2), set()
    settle = _serving.settle

    def settle_together(change, legs):
        if change.number not in waited:
            waited.add(change.number)
            both_have_booked.wait(timeout=20)
        settle(change, legs)

    monkeypatch.setattr(_transaction, "_take_turn", lambda: None)
    monkeypatch.setattr(_serving, "settle", settle_together)
    run_sql(["DROP INDEX change_only_one_is_open", "DROP INDEX booking_one_open_per_leg"])
    try:
        yield
    finally:
        monkeypatch.undo()
        run_sql(
            [
                *guards_off(),
                "DELETE FROM records_booking",
                *guards_on(),
                """CREATE UNIQUE INDEX change_only_one_is_open ON records_change (sealed)
            WHERE NOT sealed""",
                """CREATE UNIQUE INDEX booking_one_open_per_leg ON records_booking (leg_id)
            WHERE state IN ('held', 'live')""",
            ]
        )


def test_without_the_turn_both_would_be_recorded(plant, only_postgresql, monkeypatch):
    """The control arm. SQLite has none: one writer at a time is the engine's own rule."""
    both = two_jobs(plant, "S.3")

    with without_turns_or_nets(monkeypatch):
        came = raced(both)

        assert all(isinstance(each, jobs.Recorded) for each in came), came
        assert Booking.objects.open().filter(leg=plant["S.3"]).count() == 2
        assert list(broken()) != []
