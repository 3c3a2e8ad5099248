"""Why a job can't go on: what its verbs check before they write."""

from collections.abc import Sequence
from typing import Any

from django.contrib.auth.models import AbstractBaseUser

from records.changes._checks import existing
from records.changes.previews import Preview
from records.changes.refusals import JobSaved, Malformed, NameTaken, Refusal
from records.changes.retention import is_owner
from records.models import Job, JobState
from records.queries import words


class JobNotReady(Refusal):
    """What can't be done with a job in its state."""

    code = "job_not_ready"


class NotPreviewed(Refusal):
    """An approval or commit of what was not previewed as it is now."""

    code = "not_previewed"


class JobClashes(Refusal):
    """An approval of a job whose preview ends in a clash."""

    code = "job_clashes"


class OwnPlan(Refusal):
    """An approval of a job by who planned it, without a second look."""

    code = "own_plan"
    status = 403


class PreviewOutdated(Refusal):
    """A commit that would do something else than its preview said."""

    code = "preview_outdated"


class StepRecorded(Refusal):
    """An edit of a step that is recorded already."""

    code = "step_recorded"


class StepNotNext(Refusal):
    """A step ticked before the ones it comes after."""

    code = "step_not_next"


_NEXT = {
    JobState.DRAFTED: "Have it approved first.",
    JobState.APPROVED: "It is approved already.",
    JobState.BUILT: "Record what was built, or take 'built' back if that was a mistake.",
    JobState.RECORDED: "It is done; draft another job for what is still to be done.",
    JobState.DROPPED: "Draft another job if the work is wanted after all.",
}


def known(job: int) -> Job:
    """Return a job. Raises: Missing."""
    return existing(Job.objects.select_related("place", "saved_by"), job, field="job")


def still_open(job: int) -> Job:
    """Return a job that is neither recorded nor dropped. Raises: Missing, JobNotReady."""
    row = known(job)
    _refuse_closed(row)
    return row


def _refuse_closed(row: Job) -> None:
    if not row.is_open:
        raise JobNotReady(
            f"Job {row} is {row.get_state_display()}.",
            hint="Draft another job for what is still to be done.",
            field="job",
            subjects=(row.pk,),
        )


def refuse_unless(row: Job, state: JobState, what: str) -> None:
    """Refuse a job in another state. Raises: JobNotReady."""
    if row.state != state:
        raise JobNotReady(
            f"Job {row} is {row.get_state_display()} and can't be {what}.",
            hint=_NEXT[JobState(row.state)],
            field="job",
            subjects=(row.pk,),
        )


def refuse_not_approved(row: Job) -> None:
    """Refuse to record what is neither approved nor built. Raises: JobNotReady."""
    if row.state not in {JobState.APPROVED, JobState.BUILT}:
        refuse_unless(row, JobState.APPROVED, "recorded")


def refuse_twin(reference: str, *, but: int | None) -> None:
    """Refuse a reference that another job has. Raises: NameTaken."""
    others = Job.objects.exclude(pk=but) if but else Job.objects.all()
    twin = others.filter(reference=reference).first() if reference else None
    if twin is not None:
        raise NameTaken(
            f"Reference {reference} belongs to the job {twin.name}.",
            hint="Give this one another reference.",
            field="reference",
            subjects=(twin.pk,),
        )


def refuse_saved_since(row: Job, revision: int) -> None:
    """Refuse a save or approval of an older version. Raises: JobSaved."""
    if revision != row.revision:
        raise JobSaved(
            f"Job {row} was saved by {row.saved_by} at {row.saved_at:%Y-%m-%d %H:%M} UTC, as "
            f"revision {row.revision}; this one started from revision {revision}.",
            hint="Nothing is lost: put what you changed into the saved one, and save again.",
            field="revision",
            subjects=(row.pk,),
        )


def refuse_altered(row: Job, planned: list[dict[str, Any]]) -> None:
    """Refuse to alter steps that are recorded. Raises: StepRecorded."""
    for number, done in enumerate(row.steps[: row.done_count], start=1):
        kept = {name: done[name] for name in ("verb", "arguments", "note")}
        if planned[number - 1 : number] != [kept]:
            raise StepRecorded(
                f"Step {number} is recorded already, in change {done['change']}.",
                hint="Leave it as it is. To reverse it, add steps that do.",
                field=f"steps.{number}",
                subjects=(row.pk,),
            )


def own_plan(row: Job, person: AbstractBaseUser) -> OwnPlan | None:
    """Return why a person can't approve a job: it is their own plan, and they are no owner."""
    if person.pk != row.planned_by_id or is_owner(person):
        return None
    return OwnPlan(
        f"Job {row} was planned by {person.get_username()}, and nobody approves their own plan.",
        hint="Ask another of the crew, or an owner, to look at it and approve it.",
        field="job",
        subjects=(row.pk,),
    )


def refuse_own_plan(row: Job, person: AbstractBaseUser) -> None:
    """Refuse an approval without a second look. Raises: OwnPlan."""
    refusal = own_plan(row, person)
    if refusal is not None:
        raise refusal


def refuse_empty(row: Job) -> None:
    """Refuse a job without steps to do. Raises: Malformed."""
    if row.done_count == len(row.steps):
        raise Malformed(
            f"Job {row} has no steps left to do.", hint="Add what is to be done.", field="steps"
        )


def refuse_without_preview(row: Job) -> None:
    """Refuse what was not previewed, or clashed. Raises: NotPreviewed, JobClashes."""
    if not row.has_current_preview:
        raise NotPreviewed(
            f"Job {row} was not previewed as it is now.",
            hint="Look at what it would do, then go on.",
            field="job",
            subjects=(row.pk,),
        )
    clash = row.preview["clash"]
    if clash is not None:
        raise JobClashes(
            f"Step {clash['step']} ({clash['verb']}) of job {row} clashes: {clash['message']}",
            hint=clash["hint"],
            field=f"steps.{clash['step']}",
            subjects=(row.pk,),
        )


def refuse_outdated(row: Job, done: Preview) -> None:
    """Refuse to do something else than was previewed. Raises: PreviewOutdated."""
    if done.fingerprint == row.preview["fingerprint"]:
        return
    raise PreviewOutdated(
        f"Job {row} would now do something else than its preview of change "
        f"{row.preview['based_on']} said: the record was changed meanwhile.",
        hint="Look at the new preview, and record the job if that is still what is wanted.",
        field="job",
        subjects=(row.pk,),
    )


def counted(planned: Sequence[Any]) -> str:
    """Return a number of steps in words."""
    return words.counted(len(planned), "step")
