"""What the pages of jobs share: the job asked for, and a save that is done once."""

from collections.abc import Callable, Sequence
from typing import Any

from django.http import Http404, HttpRequest, QueryDict
from django.utils import timezone

from records import changes
from records.changes import OpenChange, jobs
from records.changes.refusals import Malformed
from records.models import Job
from records.web import once
from records.web.signed_in import signed_in
from records.web.whole import whole

Deed = Callable[[OpenChange], Job]


def job_or_404(job_id: int) -> Job:
    """Return a job with all that its page names. Raises: Http404."""
    found = Job.objects.select_related(
        "place", "assignee", "saved_by", "planned_by", "approved_by"
    )
    job = found.filter(pk=job_id).first()
    if job is None:
        raise Http404("There is no such job.")
    return job


def revision_sent(sent: QueryDict) -> int:
    """Return the revision that the page showed when it was sent; 0, which none is, if unclear."""
    return whole(sent.get("revision", "")) or 0


def saved(request: HttpRequest, deed: Deed, *, job: int | None = None) -> int:
    """Do a deed in a change of its own, once however often it is sent; return the job's id.

    Raises: what the deed refuses; Malformed for a page that was shown too long ago.
    """
    sending = once.sent(request.POST)
    if sending is None:
        raise Malformed(
            "This page was shown too long ago.", hint="Look at it as it is now, and send it again."
        )
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now(), job=job) as change:
            once.refuse_repeat(change, sending)
            row = deed(change)
            once.keep(change, sending, ("job", row.pk))
    except once.Repeated as repeated:
        return int(repeated.change.effect["steps"][0]["leads_to"][1])
    return row.pk


def with_steps(job: Job, steps: Sequence[Any], revision: int) -> Deed:
    """Return the deed that saves a job with other steps."""

    def save(change: OpenChange) -> Job:
        return jobs.edit(
            change,
            job.pk,
            revision=revision,
            name=job.name,
            place=job.place_id,
            reference=job.reference,
            assignee=job.assignee_id,
            due_date=job.due_date,
            steps=planned(steps),
        )

    return save


def planned(steps: Sequence[Any]) -> list[dict[str, Any]]:
    """Return what is planned of steps, without what became of them."""
    return [{name: each[name] for name in ("verb", "arguments", "note")} for each in steps]
