"""The as-built pack of a place: what it is to be, and the file."""

from contextlib import nullcontext

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.changes import Refusal
from records.handover.pack.document import Pack, as_built_pack
from records.handover.pack.told import Asked
from records.models import Place
from records.queries.moment import as_it_stood
from records.web import crumbs
from records.web.forms.pack import PackForm
from records.web.handed_over import file_answer, note_addresses
from records.web.statuses import OK, UNPROCESSABLE


def pack_page(request: HttpRequest, place_id: int) -> HttpResponse:
    """Ask what the pack is to be."""
    place = get_object_or_404(Place, pk=place_id)
    return _shown(request, place, PackForm(initial={"at": request.GET.get("at", "")}))


def pack_file(request: HttpRequest, place_id: int) -> HttpResponse:
    """Answer the pack as a PDF, or the form again with what is wrong."""
    place = get_object_or_404(Place, pk=place_id)
    form = PackForm(request.GET)
    if not form.is_valid():
        return _shown(request, place, form)
    asked = form.asked(request.user.get_username())
    try:
        pack = _at(form.cleaned_data["at"], place, asked)
    except Refusal as refusal:
        form.add_error(None, str(refusal))
        return _shown(request, place, form)
    if asked.has_addresses:
        note_addresses(request, place)
    return file_answer(pack.content, "application/pdf", pack.name)


def _at(number: int | None, place: Place, asked: Asked) -> Pack:
    with as_it_stood(number) if number is not None else nullcontext():
        return as_built_pack(get_object_or_404(Place, pk=place.pk), asked)


def _shown(request: HttpRequest, place: Place, form: PackForm) -> HttpResponse:
    form.label_suffix = ""
    context = {"place": place, "crumbs": crumbs.down_to(place), "form": form}
    return render(
        request, "records/pack.html", context, status=UNPROCESSABLE if form.errors else OK
    )
