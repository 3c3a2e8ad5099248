"""The buttons of a job's page: approve, tick, mark as built, move or take out a step, drop."""

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from records.changes import Refusal, arranging, jobs
from records.changes.refusals import JobSaved
from records.models import Job, JobState
from records.web.jobs_saving import job_or_404, revision_sent, saved, with_steps
from records.web.signed_in import signed_in
from records.web.whole import whole


def do(request: HttpRequest, job: Job) -> HttpResponse:
    """Do what a button of a job's page says, and show the page again."""
    deed = _DEEDS.get(request.POST.get("deed", ""))
    if deed is None:
        raise Http404("There is no such button.")
    try:
        words = deed(request, job)
    except Refusal as refusal:
        messages.error(request, _said(refusal))
    else:
        messages.success(request, words)
    return redirect("job", job.pk)


def _said(refusal: Refusal) -> str:
    if isinstance(refusal, JobSaved):
        return f"{refusal.message} Look at it as it is now, then do it again."
    return str(refusal)


def _approve(request: HttpRequest, job: Job) -> str:
    revision = revision_sent(request.POST)
    saved(request, lambda change: jobs.approve(change, job.pk, revision=revision), job=job.pk)
    return "Approved: the work may begin."


def _mark_built(request: HttpRequest, job: Job) -> str:
    saved(request, lambda change: jobs.mark_built(change, job.pk), job=job.pk)
    return "Built, not recorded: it stays on the first page until it is recorded."


def _unmark_built(request: HttpRequest, job: Job) -> str:
    saved(request, lambda change: jobs.unmark_built(change, job.pk), job=job.pk)
    return "Taken back: the job is not built."


def _drop(request: HttpRequest, job: Job) -> str:
    why = request.POST.get("why", "")
    saved(request, lambda change: jobs.drop(change, job.pk, why=why), job=job.pk)
    return "Dropped."


def _tick(request: HttpRequest, job: Job) -> str:
    number = _step_sent(request)
    done = jobs.tick(job.pk, number, actor=signed_in(request), at=timezone.now())
    is_closed = job_or_404(job.pk).state == JobState.RECORDED
    closed = " That was the last one: the job is closed." if is_closed else ""
    return f"Step {number} is recorded, as change {done.number}.{closed}"


def _move_up(request: HttpRequest, job: Job) -> str:
    return _move(request, job, -1)


def _move_down(request: HttpRequest, job: Job) -> str:
    return _move(request, job, 1)


def _move(request: HttpRequest, job: Job, by: int) -> str:
    number = _step_sent(request)
    revision = revision_sent(request.POST)
    # Of a job saved meanwhile the number may mean another step; the save is refused then.
    is_current = revision == job.revision
    steps = arranging.moved(job.steps, number, number + by) if is_current else job.steps
    saved(request, with_steps(job, steps, revision), job=job.pk)
    return f"Step {number} is step {number + by} now."


def _remove(request: HttpRequest, job: Job) -> str:
    number = _step_sent(request)
    revision = revision_sent(request.POST)
    steps = arranging.removed(job.steps, number) if revision == job.revision else job.steps
    saved(request, with_steps(job, steps, revision), job=job.pk)
    return f"Step {number} is taken out."


def _step_sent(request: HttpRequest) -> int:
    return whole(request.POST.get("step", "")) or 0


_DEEDS: dict[str, Callable[[HttpRequest, Job], str]] = {
    "approve": _approve,
    "built": _mark_built,
    "not built": _unmark_built,
    "drop": _drop,
    "tick": _tick,
    "up": _move_up,
    "down": _move_down,
    "remove": _remove,
}
