"""The preview of a job: what it would do, how old that is, and recording it whole."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from records.changes import Refusal, jobs
from records.models import Job
from records.queries.jobs import recorded_since
from records.web import once
from records.web.jobs_saving import job_or_404, revision_sent
from records.web.jobs_shown import title_of
from records.web.signed_in import signed_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Outage:
    """A home terminal without light for some steps, or while one is done.

    `lit_by` is the step that lights it again, 0 if it stays dark.
    """

    home: str
    dark_from: int
    lit_by: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LightShift:
    """The light of one channel at a home terminal, before and after."""

    channel: str
    before: dict[str, Any] | None
    after: dict[str, Any] | None

    @property
    def verdicts_before(self) -> list[str]:
        """Return what was wrong with it."""
        return self.before["verdicts"] if self.before else []

    @property
    def verdicts_after(self) -> list[str]:
        """Return what is wrong with it then."""
        return self.after["verdicts"] if self.after else []

    @property
    def shift_db(self) -> float | None:
        """Return by how much the level changes, None where there is none before or after."""
        if self.before is None or self.after is None:
            return None
        return float(self.after["down"]["typical_dbm"] - self.before["down"]["typical_dbm"])


def preview_page(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show what a job would do; preview it anew or record it, as a button says."""
    job = job_or_404(job_id)
    if request.method == "POST":
        return _commit(request, job) if "commit" in request.POST else _preview(request, job)
    person = signed_in(request)
    context: dict[str, Any] = {
        "job": job,
        "own_plan": jobs.own_plan(job, person),
        "is_planner": job.planned_by_id == person.pk,
        "left_count": len(job.steps) - job.done_count,
        "token": once.new_token(),
    }
    if job.has_current_preview:
        context |= _told(job)
    return render(request, "records/jobs/preview.html", context)


def _preview(request: HttpRequest, job: Job) -> HttpResponse:
    try:
        jobs.preview(job.pk, actor=signed_in(request), at=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("job", job.pk)
    return redirect("job-preview", job.pk)


def _commit(request: HttpRequest, job: Job) -> HttpResponse:
    try:
        done = jobs.commit(
            job.pk,
            revision=revision_sent(request.POST),
            actor=signed_in(request),
            at=timezone.now(),
            reason=request.POST.get("reason", ""),
        )
    except Refusal as refusal:
        messages.error(request, f"Nothing was recorded. {refusal}")
        return redirect("job-preview", job.pk)
    messages.success(request, f"Recorded as change {done.number}. The job is closed.")
    return redirect("job", job.pk)


def _told(job: Job) -> dict[str, Any]:
    seen = job.preview
    homes = [{**each, "light": list(_shifts(each))} for each in seen["homes"]]
    dark = [each for each in homes if each["goes_dark"]]
    stays_dark = {f"{each['terminal']} of {each['address']}" for each in dark}
    outages = [each for each in _outages(seen["steps"]) if each.home not in stays_dark]
    at = datetime.fromisoformat(seen["at"])
    return {
        "at": at,
        "is_fresh": timezone.now() - at < timedelta(minutes=1),
        "based_on": seen["based_on"],
        "recorded_since": recorded_since(job, seen["based_on"]),
        "clash": seen["clash"],
        "clash_title": title_of(seen["clash"]["verb"]) if seen["clash"] else "",
        "dark": dark,
        "outages": outages,
        "lit": [each for each in homes if each["gets_light"]],
        "verdicts": [each for each in homes if each["verdicts_change"] and each["after"]],
        "shifted": [each for each in homes if each["before"] and each["after"]],
        "bookings": seen["sum"]["bookings"],
        "tags": seen["sum"]["tags"],
        "warnings": seen["sum"]["warnings"],
        "steps": seen["steps"],
    }


def _shifts(home: dict[str, Any]) -> Iterator[LightShift]:
    before = {each["channel"]: each for each in home["before"]}
    after = {each["channel"]: each for each in home["after"]}
    for channel in sorted(before | after):
        yield LightShift(channel=channel, before=before.get(channel), after=after.get(channel))


def _outages(steps: list[dict[str, Any]]) -> Iterator[Outage]:
    """Yield who loses light at a step though not for good: who has to be told of the work."""
    dark: dict[str, int] = {}
    for step in steps:
        for home in step["lit"]:
            if home in dark:
                yield Outage(home=home, dark_from=dark.pop(home), lit_by=step["step"])
        for home in step.get("interrupted", ()):
            if home not in dark:
                yield Outage(home=home, dark_from=step["step"], lit_by=step["step"])
        dark |= {home: step["step"] for home in step["darkened"] if home not in dark}
    yield from (Outage(home=home, dark_from=at, lit_by=0) for home, at in dark.items())
