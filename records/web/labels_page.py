"""The page of label sheets: choose things, see the sheet, print it as a PDF.

What a label says and which codes it gets is settled in labels/runs.py.
"""

import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.conf import settings
from django.contrib import messages
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import slugify

from labels.design import Label, LabelSettings
from labels.items import WHAT, Item
from labels.refusals import LabelRefusal
from labels.ruled_page import ruled_page
from labels.runs import (
    WIDE_CODE,
    NothingMissing,
    coded,
    issue_missing,
    items_in,
    items_of,
    items_of_cable,
    items_of_point,
    labels_of,
)
from labels.seeds import sheets
from labels.sheet_pdf import sheet_pdf
from labels.sheet_svg import sheet_svg
from records import changes
from records.changes import Refusal
from records.models import Cable, Equipment, Place, Point
from records.models.tag_code import NUMBER_COUNT, candidate
from records.queries.find import find
from records.queries.things import named
from records.queries.words import natural
from records.web.forms.label_sheet import SheetForm
from records.web.forms.option import id_of
from records.web.signed_in import signed_in

UNPROCESSABLE = 422
REMEMBERED = "label sheet"
REASON_MAX = 300
PORTS_MAX = 3000
"""Ports in a place whose labels still fit on one page to choose from."""

USUAL_IN_PLACE = {"cupboard", "box", "leg"}


class Scope(NamedTuple):
    """Where the things to label are: a noun and one thing of it."""

    noun: str
    thing: Model

    @property
    def name(self) -> str:
        """Return what the thing is called."""
        return named(self.thing)


_ITEMS: dict[str, tuple[type[Model], Callable[[Any], list[Item]]]] = {
    "place": (Place, items_in),
    "equipment": (Equipment, items_of),
    "cable": (Cable, items_of_cable),
    "point": (Point, items_of_point),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The items of one sort, and which are chosen."""

    what: str
    title: str
    is_chosen: bool
    items: tuple[tuple[Item, bool], ...]

    @property
    def without_code(self) -> int:
        """Return how many need a code first."""
        return sum(item.needs_code for item, _ in self.items)


def labels_page(request: HttpRequest) -> HttpResponse:
    """Choose what to print and on what; print it, with codes for what has none."""
    data = request.POST if request.method == "POST" else request.GET
    scope = _scope(data)
    if scope is None:
        return _where(request)
    if isinstance(scope.thing, Place) and _ports_in(scope.thing) > PORTS_MAX:
        return _inside(request, scope.thing)
    items = _ITEMS[scope.noun][1](scope.thing)
    if request.method == "POST":
        form = SheetForm(request.POST)
        groups = list(_groups(items, _sent(request.POST)))
        if "check" not in request.POST:
            return _print(request, scope, groups, form)
    else:
        form = SheetForm(_remembered(request))
        groups = list(_groups(items, _usual(scope, items)))
    return _show(request, scope, groups, form)


def ruled(request: HttpRequest, sheet: str) -> HttpResponse:
    """Answer the ruled test page of a sheet."""
    if sheet not in sheets():
        raise Http404(f"There is no sheet {sheet!r}.")
    return _pdf(ruled_page(sheets()[sheet]), f"test-of-{sheet}")


def _scope(data: QueryDict) -> Scope | None:
    for noun, (model, _items) in _ITEMS.items():
        if noun in data:
            return Scope(noun, get_object_or_404(model, pk=id_of(str(data[noun])) or 0))
    return None


def _where(request: HttpRequest) -> HttpResponse:
    """Ask where the things to label are."""
    text = request.GET.get("q", "").strip()
    found = [each for each in find(text) if each.noun in _ITEMS] if text else []
    return render(request, "records/labels/where.html", {"text": text, "found": found})


def _ports_in(place: Place) -> int:
    return Point.objects.filter(equipment__place__path__startswith=place.path).count()


def _inside(request: HttpRequest, place: Place) -> HttpResponse:
    """Ask for a smaller place."""
    parts = Place.objects.get_children(place).filter(retired=False)
    context = {"place": place, "parts": sorted(parts, key=lambda each: natural(each.name))}
    return render(request, "records/labels/inside.html", context)


# --- What is chosen ------------------------------------------------------------------------


def _usual(scope: Scope, items: list[Item]) -> Callable[[Item], tuple[bool, bool]]:
    """Return what tells of an item whether its sort and itself are chosen at first."""
    sorts = {item.what for item in items}
    chosen = sorts & USUAL_IN_PLACE if scope.noun == "place" else sorts
    return lambda item: (item.what in chosen, True)


def _sent(data: QueryDict) -> Callable[[Item], tuple[bool, bool]]:
    """Return what tells of an item whether its sort and itself were sent as chosen."""
    sorts, keys = set(data.getlist("what")), set(data.getlist("item"))
    return lambda item: (item.what in sorts, item.key in keys)


def _groups(items: list[Item], is_chosen: Callable[[Item], tuple[bool, bool]]) -> Iterator[Group]:
    for what, title in WHAT.items():
        of_sort = [item for item in items if item.what == what]
        if of_sort:
            yield Group(
                what=what,
                title=title,
                is_chosen=is_chosen(of_sort[0])[0],
                items=tuple((item, is_chosen(item)[1]) for item in of_sort),
            )


def _chosen(groups: list[Group]) -> list[Item]:
    return [
        item for group in groups if group.is_chosen for item, is_chosen in group.items if is_chosen
    ]


# --- The sheet -----------------------------------------------------------------------------


def _settings() -> LabelSettings:
    return LabelSettings(host=settings.LEGBOOK_HOST)


def _remembered(request: HttpRequest) -> dict[str, Any]:
    """Return what the form starts with: the stock and offset used last, else what is usual."""
    usual = {name: each.initial for name, each in SheetForm.base_fields.items()}
    return {**usual, **request.session.get(REMEMBERED, {})}


def _print(
    request: HttpRequest, scope: Scope, groups: list[Group], form: SheetForm
) -> HttpResponse:
    """Answer the PDF. Codes are issued only once it is known that the labels have room."""
    chosen = _chosen(groups)
    if not form.is_valid():
        return _show(request, scope, groups, form, status=UNPROCESSABLE)
    try:
        if any(item.needs_code for item in chosen):
            _as_pdf(form, chosen, WIDE_CODE)
            _issue(request, scope, chosen)
        content = _as_pdf(form, coded(chosen), WIDE_CODE)
    except (LabelRefusal, Refusal) as refusal:
        return _show(request, scope, groups, form, refusal=refusal, status=UNPROCESSABLE)
    request.session[REMEMBERED] = form.kept()
    return _pdf(content, slugify(f"labels {scope.name}")[:60])


def _as_pdf(form: SheetForm, items: list[Item], stand_in: str) -> bytes:
    return sheet_pdf(
        _labels(form, items, stand_in),
        form.chosen_sheet(),
        _settings(),
        start=form.cleaned_data["start"],
        offset=form.offset(),
        has_outlines=form.cleaned_data["has_outlines"],
    ).content


def _labels(form: SheetForm, items: list[Item], stand_in: str) -> list[Label]:
    return labels_of(items, has_owner=form.cleaned_data["has_owner"], stand_in=stand_in)


def _issue(request: HttpRequest, scope: Scope, chosen: list[Item]) -> None:
    reason = f"labels for {scope.name}"[:REASON_MAX]
    try:
        with changes.opened(actor=signed_in(request), reason=reason, at=timezone.now()) as change:
            issue_missing(change, chosen, _candidates())
    except NothingMissing:
        return
    link = reverse("change", args=[change.number])
    messages.success(
        request,
        format_html(
            'New codes were issued for the labels: <a href="{}">change {}</a>.',
            link,
            change.number,
        ),
    )


def _candidates() -> Iterator[str]:
    """Yield random codes without end."""
    while True:
        code = candidate(secrets.randbelow(NUMBER_COUNT))
        if code is not None:
            yield code


def _pdf(content: bytes, name: str) -> HttpResponse:
    disposition = {"Content-Disposition": f'attachment; filename="{name}.pdf"'}
    return HttpResponse(content, "application/pdf", headers=disposition)


def _show(
    request: HttpRequest,
    scope: Scope,
    groups: list[Group],
    form: SheetForm,
    *,
    refusal: LabelRefusal | Refusal | None = None,
    status: int = 200,
) -> HttpResponse:
    chosen = _chosen(groups)
    picture = None
    if refusal is None and form.is_valid() and chosen:
        try:
            picture = _picture(form, chosen)
        except LabelRefusal as refused:
            refusal = refused
    context = {
        "scope": scope,
        "groups": groups,
        "form": form,
        "refusal": refusal,
        "picture": picture,
        "count": len(chosen),
        "without_code": sum(item.needs_code for item in chosen),
        "was_sent": status == UNPROCESSABLE,
    }
    return render(request, "records/labels/labels.html", context, status=status)


def _picture(form: SheetForm, items: list[Item]) -> SafeString:
    """Return the first sheet as a picture."""
    svg = sheet_svg(
        labels_of(items, has_owner=form.cleaned_data["has_owner"]),
        form.chosen_sheet(),
        _settings(),
        start=form.cleaned_data["start"],
        offset=form.offset(),
    )
    return mark_safe(svg)  # noqa: S308 (drawn by labels/, which escapes what it writes)
