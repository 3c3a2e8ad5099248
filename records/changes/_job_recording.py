"""The steps of a job run: tried and rolled back, or recorded, all that are left or one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser

from records.changes import _job_checks, previews
from records.changes import steps as planning
from records.changes._checks import refuse_retired
from records.changes._job_checks import StepNotNext
from records.changes._transaction import OpenChange, opened
from records.changes.previews import Clash, Preview, Trace
from records.changes.refusals import Malformed
from records.changes.steps import Step, StepMalformed, StepRefused
from records.models import Job, JobState


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """The change that recorded steps of a job; `is_repeat` if it had done so before."""

    number: int
    is_repeat: bool
    preview: Preview | None


class Repeated(Exception):  # noqa: N818 (an answer, not an error)
    """Steps recorded before, by the change of this number."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def tried(
    row: Job,
    left: list[Step],
    *,
    actor: AbstractBaseUser,
    at: datetime,
    clash: Clash | None = None,
) -> Preview:
    """Return what some steps of a job would do, leaving nothing; the first clash is told in it."""
    trace = _trace(row)
    try:
        with opened(actor=actor, at=at, preview=True) as change:
            trace.run(change, left)
            told = previews.report(change, trace, revision=row.revision, clash=clash)
    except (StepRefused, StepMalformed) as refusal:
        # The clash left half a step behind; the sum is that of the steps before it.
        before = left[: refusal.step - trace.first_step]
        found = Clash.of(refusal, left, first_step=trace.first_step)
        return tried(row, before, actor=actor, at=at, clash=found)
    return told


def _trace(row: Job) -> Trace:
    made = [dict(step["made"]) for step in row.steps[: row.done_count]]
    return Trace(made=made, first_step=row.done_count + 1)


def record_left(change: OpenChange, job: int, revision: int) -> Recorded:
    """Record all that is left of a job. Raises: Repeated, and what `commit` raises."""
    row = _job_checks.known(job)  # as it is now that it is this change's turn
    if row.state == JobState.RECORDED:
        raise Repeated(row.steps[-1]["change"])
    _job_checks.refuse_not_approved(row)
    _job_checks.refuse_saved_since(row, revision)
    if not row.steps:  # a built one may have been emptied; with steps recorded, it just closes
        _job_checks.refuse_empty(row)
    _job_checks.refuse_without_preview(row)
    if not row.done_count:
        refuse_retired(row.place, field="place")

    trace = _trace(row)
    trace.run(change, planning.checked(row.steps)[row.done_count :])
    done = previews.report(change, trace, revision=row.revision)
    _job_checks.refuse_outdated(row, done)

    _note_done(change, row, trace.made[row.done_count :])
    return Recorded(number=change.number, is_repeat=False, preview=done)


def _note_done(change: OpenChange, row: Job, made: Sequence[Any]) -> None:
    """Note in the job which steps this change recorded; the last one closes it."""
    first = row.done_count
    for step, thing in zip(row.steps[first : first + len(made)], made, strict=True):
        step |= {
            "done_at": change.at.isoformat(),
            "done_by": change.actor.pk,
            "change": change.number,
            "made": thing,
        }
    state = JobState.RECORDED if row.done_count == len(row.steps) else row.state
    Job.objects.filter(pk=row.pk).update(steps=row.steps, state=state)


def record_step(change: OpenChange, job: int, number: int) -> Recorded:
    """Record one step of a job. Raises: Repeated, and what `tick` raises."""
    row = _job_checks.known(job)
    if not 1 <= number <= len(row.steps):
        raise Malformed(
            f"Job {row} has {_job_checks.counted(row.steps)}, and no step {number}.",
            hint="Look at the job again.",
            field="step",
        )
    if number <= row.done_count:
        raise Repeated(row.steps[number - 1]["change"])
    _job_checks.refuse_not_approved(row)
    if number > row.done_count + 1:
        raise StepNotNext(
            f"Step {number} comes after step {row.done_count + 1}, which is not recorded yet.",
            hint="Record the steps in their order, or change the order in the job.",
            field="step",
            subjects=(row.pk,),
        )

    trace = _trace(row)
    trace.run(change, [planning.checked(row.steps)[number - 1]])
    _note_done(change, row, trace.made[-1:])
    return Recorded(number=change.number, is_repeat=False, preview=None)
