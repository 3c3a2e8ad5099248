"""What hangs in cupboards besides labels: their neutral sheets, and their hazard statements."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from labels.choices import is_too_large
from labels.neutral_sheet import Cupboard, neutral_sheets
from labels.patching import WORDS, cupboard, cupboards_in, cupboards_of
from labels.refusals import LabelRefusal
from records.models import HazardStatement, Place, PrintRun
from records.queries.hazards import statements_of
from records.web import crumbs
from records.web.actions import Action
from records.web.links import do_url


def neutral(request: HttpRequest, place_id: int) -> HttpResponse:
    """Answer the neutral sheet of a place: what is patched there now, by numbers only."""
    place = get_object_or_404(Place, pk=place_id)
    return _sheets([cupboard(place)], f"patching-{place.pk}")


def neutral_inside(request: HttpRequest, place_id: int) -> HttpResponse:
    """Answer the neutral sheets of all cupboards in a place in one file."""
    place = get_object_or_404(Place, pk=place_id)
    if is_too_large(place):
        raise Http404(f"{place.name} holds more cupboards than one file. Ask for a part of it.")
    return _sheets(cupboards_in(place), f"patching-in-{place.pk}")


def neutral_of_run(request: HttpRequest, run_id: int) -> HttpResponse:
    """Answer the neutral sheets of all cupboards that the labels of a run belong in."""
    run = get_object_or_404(PrintRun, pk=run_id)
    return _sheets(cupboards_of(run), f"patching-of-print-{run.pk}")


def _sheets(cupboards: list[Cupboard], name: str) -> HttpResponse:
    try:
        sheets = neutral_sheets(cupboards, f"{timezone.now():%Y-%m-%d}", WORDS)
    except LabelRefusal as refusal:
        raise Http404(f"There is no sheet that could be printed. {refusal}") from refusal
    return HttpResponse(
        sheets.content,
        "application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}.pdf"'},
    )


def hazards_page(request: HttpRequest, place_id: int) -> HttpResponse:
    """Show what assessors stated for a place. The record states nothing by itself."""
    place = get_object_or_404(Place, pk=place_id)
    statements = list(statements_of(place))
    actions = [
        Action(
            label="Record a statement",
            url=do_url("hazards.state", place=place.pk),
            is_main=True,
        )
    ]
    context = {
        "place": place,
        "crumbs": crumbs.down_to(place),
        "statements": statements,
        "holding": _holding(statements),
        "actions": actions,
    }
    return render(request, "records/printing/hazards.html", context)


def _holding(statements: list[HazardStatement]) -> HazardStatement | None:
    return next((each for each in statements if not each.withdrawn), None)
