"""What hangs in a cupboard besides labels: its neutral sheet, and its hazard statements."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from labels.neutral_sheet import neutral_sheet
from labels.patching import WORDS, patches_in, plate_of
from labels.refusals import LabelRefusal
from records.models import HazardStatement, Place
from records.queries.hazards import statements_of
from records.web import crumbs
from records.web.actions import Action
from records.web.links import do_url


def neutral(request: HttpRequest, place_id: int) -> HttpResponse:
    """Answer the neutral sheet of a place: what is patched there now, by numbers only."""
    place = get_object_or_404(Place, pk=place_id)
    try:
        sheet = neutral_sheet(
            plate_of(place), f"{timezone.now():%Y-%m-%d}", patches_in(place), WORDS
        )
    except LabelRefusal as refusal:
        raise Http404(f"There is no sheet that could be printed. {refusal}") from refusal
    return HttpResponse(
        sheet.content,
        "application/pdf",
        headers={"Content-Disposition": f'inline; filename="patching-{place.pk}.pdf"'},
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
