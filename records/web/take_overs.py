"""New versions of catalogue entries taking over: a task of many changes, watched and run here.

Each step is one change that moves some trees, so the task may be stopped at any moment and goes
on from there; the command `catalogue_take_over` runs the same steps.
"""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from records import changes
from records.changes import Refusal, catalogue
from records.models import TakeOver
from records.queries.take_overs import Progress, progress, take_overs
from records.web.signed_in import signed_in


def take_overs_page(request: HttpRequest) -> HttpResponse:
    """Show every take-over with how far it has come."""
    return render(request, "records/light/take_overs.html", {"take_overs": take_overs()})


def take_over_page(request: HttpRequest, take_over_id: int) -> HttpResponse:
    """Show one take-over: what takes over from what, and how far it has come."""
    return _show(request, _found(take_over_id))


def take_over_step(request: HttpRequest, take_over_id: int) -> HttpResponse:
    """Move the next trees to the new version, as one change.

    Asked from within the page, it answers with the page as it is then, which asks again until
    all is done; else it leads back to the page, as it does whoever only looks.
    """
    if request.method != "POST":
        return redirect("take-over", take_over_id)
    found = _found(take_over_id)
    refused = ""
    try:
        with changes.opened(
            actor=signed_in(request), at=timezone.now(), reason=str(found.take_over)
        ) as change:
            moved = catalogue.take_over(change, take_over_id)
    except Refusal as refusal:
        refused = f"{refusal.message} {refusal.hint}"
    now = progress(found.take_over)
    if not refused and not moved and not now.is_done:
        refused = f"{now.left} things could not be moved. Look at what uses the old version."
    if request.headers.get("HX-Request"):
        return _show(request, now, refused=refused, is_running=not refused)
    if refused:
        messages.error(request, refused)
    return redirect("take-over", take_over_id)


def _found(take_over_id: int) -> Progress:
    found = TakeOver.objects.select_related("old", "new", "change__actor")
    take_over = found.filter(pk=take_over_id).first()
    if take_over is None:
        raise Http404("There is no such take-over.")
    return progress(take_over)


def _show(
    request: HttpRequest, now: Progress, *, refused: str = "", is_running: bool = False
) -> HttpResponse:
    context = {"now": now, "refused": refused, "is_running": is_running and not now.is_done}
    return render(request, "records/light/take_over.html", context)
