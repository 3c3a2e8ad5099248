"""The files in which a place is handed over: which there are, what each leaves out, and each."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from records import intake
from records.changes import Refusal
from records.handover.exports import files
from records.handover.exports.files import EXPORTS, Document
from records.intake import Assumed, Assumptions
from records.models import Place
from records.web import crumbs
from records.web.handed_over import file_answer, note_addresses
from records.web.past import as_asked

NAMES_SHOWN = 8
"""Things of one kind that a page names as left out; the command names all."""


@as_asked
def exports_page(request: HttpRequest, place_id: int) -> HttpResponse:
    """Offer the files of a place at the moment asked for, and say what its sheet leaves out."""
    place = get_object_or_404(Place, pk=place_id)
    has_addresses = _has_addresses(request)
    context: dict[str, Any] = {
        "place": place,
        "crumbs": crumbs.down_to(place),
        "has_addresses": has_addresses,
        "at": request.GET.get("at", ""),
        "names_shown": NAMES_SHOWN,
        "more_than": -NAMES_SHOWN,
    }
    try:
        sheet = files.export(place, "sheet", has_addresses=has_addresses)
    except Refusal as refusal:
        context["refused"] = refusal
        return render(request, "records/exports.html", context, status=refusal.status)
    context |= {"sheet": sheet, "assumed": _assumed(sheet)}
    query = "?addresses=true" if has_addresses else ""
    context["files"] = [
        (each, reverse("export", args=[place.pk, each.what]) + query) for each in EXPORTS
    ]
    return render(request, "records/exports.html", context)


@as_asked
def export_file(request: HttpRequest, place_id: int, what: str) -> HttpResponse:
    """Answer one of the files of a place, as CSV."""
    place = get_object_or_404(Place, pk=place_id)
    has_addresses = _has_addresses(request)
    try:
        document = files.export(place, what, has_addresses=has_addresses)
    except Refusal as refusal:
        raise Http404(str(refusal)) from refusal
    if has_addresses:
        note_addresses(request, place)
    return file_answer(document.csv(), "text/csv; charset=utf-8", document.file_name)


def _has_addresses(request: HttpRequest) -> bool:
    return request.GET.get("addresses") == "true"


def _assumed(sheet: Document) -> list[Assumed]:
    """Return what to assume when a sheet is taken in, as the form of an intake calls it."""
    told = sheet.assumed or {}
    every = intake.assumed(Assumptions(**told))  # type: ignore[arg-type] # by the intake's names
    return [each for each in every if each.field in told]
