"""A process that is killed in the middle of a job's commit leaves nothing of it behind."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from records.changes import jobs
from records.models import Job, JobState
from records.queries import chain
from records.queries.invariants import broken
from tests.factories import AT, Plant, opened, user
from tests.races.crews import database_url
from tests.unchanged import nothing_written

PLANT = """
    olt O
    splitter S 1:8
    cable F 1200 m
    cable D 30 m
    outlet U @1
    terminal T @1
    light O.1 GPON B+
    O.1 = F.1 = S
    D ~ U - T
    """
DYING = Path(__file__).with_name("dying.py")


@pytest.fixture
def plant(transactional_db):
    return Plant(PLANT)


def step(verb, **arguments):
    return {"verb": verb, "arguments": arguments}


@pytest.fixture
def job(plant):
    """Return a job that books a leg, lights a flat, and names the splitter anew."""
    with opened() as change:
        job = jobs.draft(
            change,
            name="Connect flat 1",
            place=plant.building,
            steps=[
                step("bookings.book", leg=plant["S.3"], line=plant.line("1")),
                step("joints.join", a=plant["S.3"], b=plant["D.1a"], kind="mated"),
                step("equipment.rename", equipment=plant.id("S"), name="S9"),
            ],
        )
    jobs.preview(job.pk, actor=user(), at=AT)
    with opened(actor=user("lead")) as change:
        return jobs.approve(change, job.pk, revision=1)


def killed_after(job, steps):
    """Commit the job in a process that is killed after so many steps; return how it ended."""
    return subprocess.run(
        [sys.executable, str(DYING), str(job.pk), str(steps)],
        env={**os.environ, "DATABASE_URL": database_url()},
        timeout=120,
        check=False,
    ).returncode


@pytest.mark.parametrize("steps", [1, 2])
def test_a_commit_that_is_killed_leaves_nothing_and_can_be_done_again(job, steps):
    with nothing_written():
        assert killed_after(job, steps) == -signal.SIGKILL

    assert list(broken()) == []
    done = jobs.commit(job.pk, revision=1, actor=user(), at=AT)
    assert Job.objects.get(pk=job.pk).state == JobState.RECORDED
    assert not done.is_repeat
    assert chain.first_break() is None


def test_what_is_not_killed_commits(job):
    """The control arm: the same process does commit where nothing kills it."""
    assert killed_after(job, 3) == 0
    assert Job.objects.get(pk=job.pk).state == JobState.RECORDED
