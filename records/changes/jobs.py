"""Verbs for jobs: draft, edit, approve, mark built, drop; and preview, commit, tick.

A job goes drafted, approved, built, recorded; or dropped. Work is approved before it is done, by
someone other than who planned it; an owner may approve anything, as a crew may be one person.
Done on site is not yet done: only what is recorded closes a job. `preview`, `commit` and `tick`
open the change themselves, since what they do depends on what came of it.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser

from records.changes import _job_checks, _job_recording
from records.changes import steps as planning
from records.changes._checks import existing, present_place, refuse_retired, text
from records.changes._job_checks import PreviewOutdated, own_plan
from records.changes._job_recording import Recorded, Repeated
from records.changes._transaction import OpenChange, opened, verb
from records.changes.previews import Preview
from records.changes.steps import Step, StepMalformed, StepRefused
from records.models import Job, JobState

__all__ = [
    "Recorded",
    "approve",
    "commit",
    "draft",
    "drop",
    "edit",
    "mark_built",
    "own_plan",
    "preview",
    "tick",
    "unmark_built",
]

Steps = Sequence[Step | Mapping[str, Any]]

_NO_APPROVAL: dict[str, Any] = {"approved_by": None, "approved_revision": None}


@verb
def draft(
    change: OpenChange,
    *,
    name: str,
    place: int,
    steps: Steps = (),
    reference: str = "",
    assignee: int | None = None,
    due_date: date | None = None,
) -> Job:
    """Draft a job for a place. Steps are checked for their form, not yet against the record.

    Raises: Malformed, Missing, NameTaken, PlaceRetired, StepMalformed.
    """
    told = _told(name=name, place=place, reference=reference, assignee=assignee, due_date=due_date)
    _job_checks.refuse_twin(told["reference"], but=None)
    planned = [step.as_json() for step in planning.checked(steps)]

    job = Job.objects.create(
        **told,
        steps=planned,
        planned_by_id=change.actor.pk,
        saved_by_id=change.actor.pk,
        saved_at=change.at,
    )
    change.say(f"drafted job {job}, {_job_checks.counted(planned)}")
    return job


def _told(
    *, name: str, place: int, reference: str, assignee: int | None, due_date: date | None
) -> dict[str, Any]:
    where = present_place(place, field="place")
    if assignee is not None:
        existing(get_user_model()._default_manager, assignee, field="assignee")  # noqa: SLF001 (Django's name)
    return {
        "name": text(name, 120, field="name", needed=True),
        "place": where,
        "reference": text(reference, 60, field="reference"),
        "assignee_id": assignee,
        "due_date": due_date,
    }


@verb
def edit(
    change: OpenChange,
    job: int,
    *,
    revision: int,
    name: str,
    place: int,
    steps: Steps,
    reference: str = "",
    assignee: int | None = None,
    due_date: date | None = None,
) -> Job:
    """Save a job anew, all of it, starting from the revision that was shown.

    An approved job is a draft again; one that is built stays so, as the record follows what was
    built. Steps already recorded can't be altered. Raises: what `draft` raises, JobSaved,
    JobNotReady, StepRecorded.
    """
    row = _job_checks.still_open(job)
    _job_checks.refuse_saved_since(row, revision)
    told = _told(name=name, place=place, reference=reference, assignee=assignee, due_date=due_date)
    _job_checks.refuse_twin(told["reference"], but=row.pk)
    planned = [step.as_json() for step in planning.checked(steps)]
    _job_checks.refuse_altered(row, planned)

    done, left = row.steps[: row.done_count], row.steps[row.done_count :]
    is_same = planned[row.done_count :] == left
    is_built = row.state == JobState.BUILT
    approval = {} if is_built else _NO_APPROVAL
    Job.objects.filter(pk=row.pk).update(
        **told,
        **approval,
        state=JobState.BUILT if is_built else JobState.DRAFTED,
        steps=done + planned[row.done_count :],
        planned_by_id=row.planned_by_id if is_same else change.actor.pk,
        preview={},
        revision=row.revision + 1,
        saved_by_id=change.actor.pk,
        saved_at=change.at,
    )
    row.refresh_from_db()
    change.say(f"saved job {row}, {_job_checks.counted(planned)}, revision {row.revision}")
    return row


@verb
def approve(change: OpenChange, job: int, *, revision: int) -> Job:
    """Approve a draft as it was previewed, so that work may begin.

    It takes a second look: not that of who last edited the steps, unless an owner does so.
    Raises: Missing, JobNotReady, JobSaved, OwnPlan, PlaceRetired, Malformed, NotPreviewed,
    JobClashes.
    """
    row = _job_checks.known(job)
    _job_checks.refuse_unless(row, JobState.DRAFTED, "approved")
    _job_checks.refuse_saved_since(row, revision)
    refuse_retired(row.place, field="place")
    _job_checks.refuse_empty(row)
    _job_checks.refuse_own_plan(row, change.actor)
    _job_checks.refuse_without_preview(row)

    Job.objects.filter(pk=row.pk).update(
        state=JobState.APPROVED, approved_by_id=change.actor.pk, approved_revision=row.revision
    )
    row.refresh_from_db()
    own = "; approved by its own planner" if row.is_approved_by_planner else ""
    steps = _job_checks.counted(row.steps)
    change.say(f"approved job {row}, {steps}, revision {row.revision}{own}")
    return row


@verb
def mark_built(change: OpenChange, job: int) -> Job:
    """Note that an approved job is done on site; it stays open until it is recorded.

    Raises: Missing, JobNotReady.
    """
    row = _job_checks.known(job)
    _job_checks.refuse_unless(row, JobState.APPROVED, "marked as built")
    Job.objects.filter(pk=row.pk).update(state=JobState.BUILT)
    row.state = JobState.BUILT
    change.say(f"marked job {row} as built, not recorded")
    return row


@verb
def unmark_built(change: OpenChange, job: int) -> Job:
    """Take back that a job is done on site; if it was edited since, it needs approval anew.

    Raises: Missing, JobNotReady.
    """
    row = _job_checks.known(job)
    _job_checks.refuse_unless(row, JobState.BUILT, "taken back")
    is_as_approved = row.approved_revision == row.revision
    approval = {} if is_as_approved else _NO_APPROVAL
    state = JobState.APPROVED if is_as_approved else JobState.DRAFTED
    Job.objects.filter(pk=row.pk).update(state=state, **approval)
    row.refresh_from_db()
    change.say(f"took back that job {row} is built")
    return row


@verb
def drop(change: OpenChange, job: int, *, why: str) -> Job:
    """Drop what is left of a job. What is built can't be dropped: it has to be recorded.

    Raises: Malformed, Missing, JobNotReady.
    """
    row = _job_checks.still_open(job)
    why = text(why, 200, field="why", needed=True)
    if row.state == JobState.BUILT:
        _job_checks.refuse_unless(row, JobState.APPROVED, "dropped")
    Job.objects.filter(pk=row.pk).update(state=JobState.DROPPED)
    row.state = JobState.DROPPED
    done = f" after {row.done_count} of {_job_checks.counted(row.steps)}" if row.done_count else ""
    change.say(f"dropped job {row}{done}: {why}")
    return row


def preview(job: int, *, actor: AbstractBaseUser, at: datetime) -> Preview:
    """Run what is left of a job for real, leave nothing, and keep the report with the job.

    A clash is part of the report, not raised. Raises: Missing, JobNotReady, PlaceRetired.
    """
    row = _job_checks.still_open(job)
    if not row.done_count:
        refuse_retired(row.place, field="place")
    planned = planning.checked(row.steps)
    told = _job_recording.tried(row, planned[row.done_count :], actor=actor, at=at)
    # One statement, so it needs no transaction; a save that came between keeps its empty preview.
    Job.objects.open().filter(pk=row.pk, revision=row.revision).update(preview=told.as_json())
    return told


def commit(
    job: int, *, revision: int, actor: AbstractBaseUser, at: datetime, reason: str = ""
) -> Recorded:
    """Record all that is left of an approved or built job in one change.

    The steps are run and must come to just what the preview said: to the same homes, levels,
    bookings and labels, whatever was changed since. If they don't, nothing is recorded and the job
    gets the new preview. A repeated commit is harmless. Raises: Missing, JobNotReady, JobSaved,
    Malformed, NotPreviewed, JobClashes, PreviewOutdated, StepRefused.
    """
    row = _job_checks.known(job)
    try:
        with opened(actor=actor, at=at, reason=reason or str(row), job=row.pk) as change:
            return _job_recording.record_left(change, job, revision)
    except Repeated as repeated:
        return Recorded(number=repeated.number, is_repeat=True, preview=None)
    except (PreviewOutdated, StepRefused, StepMalformed):
        preview(job, actor=actor, at=at)
        raise


def tick(
    job: int, step: int, *, actor: AbstractBaseUser, at: datetime, reason: str = ""
) -> Recorded:
    """Record one step of an approved or built job as its own change, in the order of the steps.

    A repeated tick is harmless; the last one closes the job. Raises: Missing, Malformed,
    JobNotReady, StepNotNext, StepRefused.
    """
    row = _job_checks.known(job)
    why = reason or f"{row}, step {step}"
    try:
        with opened(actor=actor, at=at, reason=why, job=row.pk) as change:
            return _job_recording.record_step(change, job, step)
    except Repeated as repeated:
        return Recorded(number=repeated.number, is_repeat=True, preview=None)
