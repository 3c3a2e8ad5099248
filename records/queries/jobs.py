"""Jobs: which there are, which are open in a place, and how old a preview is."""

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import F

from records.models import Change, Job, JobState, Place

if TYPE_CHECKING:
    from django.db.models import QuerySet

OPEN = "open"
"""The state asked for when any job will do that is neither recorded nor dropped."""

_SOONEST = (F("due_date").asc(nulls_last=True), "pk")


def listed(
    *,
    state: str = OPEN,
    inside: Place | None = None,
    assignee_id: int | None = None,
    due_from: date | None = None,
    due_until: date | None = None,
) -> "QuerySet[Job]":
    """Return jobs: the open ones by their date, others the newest first; no state means any."""
    found = Job.objects.select_related("place", "assignee")
    if state == OPEN:
        found = found.open()
    elif state:
        found = found.filter(state=state)
    if inside is not None:
        found = found.filter(place__path__startswith=inside.path)
    if assignee_id is not None:
        found = found.filter(assignee=assignee_id)
    if due_from is not None:
        found = found.filter(due_date__gte=due_from)
    if due_until is not None:
        found = found.filter(due_date__lte=due_until)
    return found.order_by(*_SOONEST) if state == OPEN else found.order_by("-pk")


def built_not_recorded(count: int) -> list[Job]:
    """Return the jobs done on site that the record doesn't know of yet, the earliest first."""
    found = Job.objects.built_not_recorded().select_related("place", "assignee")
    return list(found.order_by(*_SOONEST)[:count])


def open_inside(place: Place, count: int) -> list[Job]:
    """Return jobs in a place or inside it that are neither recorded nor dropped."""
    return list(listed(inside=place)[:count])


def recorded_since(job: Job, number: int) -> int:
    """Return how many changes were recorded after one of that number, those of the job aside."""
    later = Change.objects.filter(number__gt=number, sealed=True)
    return later.exclude(job=job).count()


def words_of_steps(job: Job) -> dict[int, str]:
    """Return by its number what each recorded step of a job did, in words."""
    numbers = {step["change"] for step in job.steps if step.get("change")}
    found = Change.objects.filter(number__in=numbers, sealed=True)
    return dict(_told(found))


def _told(found: Iterable[Change]) -> Iterable[tuple[int, str]]:
    for change in found:
        for step in change.effect["steps"]:
            if "step" in step:
                yield step["step"], step["words"]


def states() -> list[tuple[str, str]]:
    """Return the states that jobs are looked for by, with their words."""
    return [(OPEN, "open"), *JobState.choices, ("", "any")]
