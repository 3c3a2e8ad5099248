"""What if: the same homes under another class, splitter or attenuator; nothing is recorded."""

from collections.abc import Iterable
from itertools import takewhile
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.models import Equipment, EquipmentKind, Place
from records.queries.contents import is_large
from records.queries.homes_in_parts import part_of
from records.queries.receivers import Receiver, receivers_below, receivers_in
from records.queries.what_if import WhatIf, what_if
from records.web.forms.supposing import SupposeForm, SupposePatternForm, SupposeSplitterForm
from records.web.large_places import places_inside
from records.web.statuses import OK, UNPROCESSABLE
from records.web.subjects import Subject, subject_of
from records.web.whole import whole

SHOWN = 200
"""Homes in a table; who has more to read asks for one building or splitter."""


def what_if_page(request: HttpRequest, noun: str, thing_id: int) -> HttpResponse:
    """Show the form, and which homes would fail by how much where something is supposed."""
    subject = subject_of(noun, thing_id)
    form = _form(request, subject)
    context: dict[str, Any] = {
        "subject": subject,
        "crumbs": [*subject.around, subject.crumb],
        "form": form,
        "asked": _asked(request),
    }
    if isinstance(subject.thing, Place) and is_large(subject.thing):
        context |= places_inside(request, subject.thing)
    elif form.is_valid():
        part = part_of(_receivers(subject), whole(request.GET.get("part", "")) or 1)
        answer = what_if(part.receivers, form.supposition())
        context |= _told(answer, is_asked=form.has_changed()) | {"part": part}
    status = OK if form.is_valid() else UNPROCESSABLE
    return render(request, "records/light/what_if.html", context, status=status)


def _asked(request: HttpRequest) -> str:
    """Return what is supposed as a query, to be asked of another part or place."""
    asked = request.GET.copy()
    for name in ("part", "page"):
        asked.pop(name, None)
    return asked.urlencode()


def _form(request: HttpRequest, subject: Subject) -> SupposeForm:
    thing = subject.thing
    if not isinstance(thing, Place | Equipment):
        raise Http404("There is a what-if for places and equipment only.")
    if isinstance(thing, Equipment) and thing.kind == EquipmentKind.SPLITTER:
        return SupposeSplitterForm(request.GET, equipment=thing.pk)
    return SupposePatternForm(request.GET)


def _receivers(subject: Subject) -> list[Receiver]:
    if isinstance(subject.thing, Place):
        return receivers_in(subject.thing)
    if isinstance(subject.thing, Equipment):
        return receivers_below(subject.thing)
    return []


def _told(answer: WhatIf, *, is_asked: bool) -> dict[str, Any]:
    return {
        "answer": answer,
        "is_asked": is_asked,
        "failing": answer.failing[:SHOWN],
        "good": [each for each in answer.outlooks if not each.fails][:SHOWN],
        "shown": SHOWN,
        "shared": _shared(each.receiver.address for each in answer.outlooks),
    }


def _shared(addresses: Iterable[str]) -> str:
    """Return what all addresses begin with, which is said once or not at all."""
    around = {tuple(each.split(", ")[:-1]) for each in addresses}
    levels = (set(names) for names in zip(*around, strict=False))
    return "".join(f"{names.pop()}, " for names in takewhile(lambda each: len(each) == 1, levels))
