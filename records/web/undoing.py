"""A change undone: the steps that reverse it, drafted as a job, or what stands in the way."""

from collections import Counter
from collections.abc import Sequence

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from records.changes import OpenChange, Refusal, jobs
from records.changes.undo import Obstacle, Proposal, propose, reversing
from records.models import Change, Job
from records.web import once, unsent
from records.web.forms.jobs import JobForm
from records.web.jobs_saving import saved
from records.web.jobs_shown import shown_steps
from records.web.statuses import OK, UNPROCESSABLE

OF_ONE_CHANGE = 3
"""Obstacles shown of one later change; to see to that change is to see to all of them."""


class UndoForm(JobForm):
    """What is told of the job that reverses a change."""

    title = "Undo a change"
    about = ""

    @classmethod
    def of(cls, proposal: Proposal) -> QueryDict:
        """Return what the form starts with."""
        data = QueryDict(mutable=True)
        data["name"] = f"Undo change {proposal.number}"
        data["place"] = str(proposal.place or "")
        return data


def undo_page(request: HttpRequest, number: int) -> HttpResponse:
    """Show what would reverse a change, or what stands in its way; draft it as a job."""
    change = Change.objects.filter(number=number, sealed=True).first()
    if change is None:
        raise Http404(f"There is no change {number}.")
    proposal = propose(number)
    is_sent = request.method == "POST"
    sent = unsent.sent(request)
    form = UndoForm(UndoForm.of(proposal) if sent is None else sent)
    form.address = request.path
    if not is_sent or "check" in request.POST:
        form.is_valid()
        form.forgive_missing()
        return _show(request, form, proposal)
    if not form.is_valid():
        return _show(request, form, proposal, status=UNPROCESSABLE)

    def draft(change: OpenChange) -> Job:
        return jobs.draft(change, **form.arguments(), steps=reversing(number))

    try:
        pk = saved(request, draft)
    except Refusal as refusal:
        form.refusal = refusal
        return _show(request, form, proposal, status=refusal.status)
    messages.success(request, f"The job that undoes change {number} is drafted. Try it out.")
    return redirect("job", pk)


def _told(obstacles: Sequence[Obstacle]) -> list[Obstacle]:
    """Return what is worth telling: some obstacles of each later change."""
    seen: Counter[int | None] = Counter()
    told = []
    for each in obstacles:
        seen[each.change] += 1
        if seen[each.change] <= OF_ONE_CHANGE:
            told.append(each)
    return told


def _show(
    request: HttpRequest, form: UndoForm, proposal: Proposal, *, status: int = 200
) -> HttpResponse:
    told = _told(proposal.obstacles)
    context = {
        "number": proposal.number,
        "proposal": proposal,
        "obstacles": told,
        "more": len(proposal.obstacles) - len(told),
        "steps": shown_steps(Job(steps=[step.as_json() for step in proposal.steps])),
        "form": form,
        "rows": list(form.rows()),
        "was_sent": status != OK,
        "token": once.new_token(),
    }
    return render(request, "records/undo.html", context, status=status)
