"""The print page: choose labels, see the sheet, print it; the record knows what was printed."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from labels import orders, runs
from labels.choices import CHOICES
from labels.item import Item
from labels.random_codes import random_codes
from labels.refusals import LabelRefusal
from labels.runs import Laid
from records import changes
from records.changes import Refusal
from records.changes.refusals import Malformed
from records.models import Change, Place
from records.queries import prints
from records.queries.contents import children
from records.queries.find import find
from records.web import once
from records.web.forms.printing import OrderForm, PrintForm
from records.web.printing_scope import (
    Group,
    Scope,
    chosen_items,
    scope_of,
    sent_groups,
    usual_groups,
)
from records.web.signed_in import signed_in

UNPROCESSABLE = 422
REMEMBERED = "label order"
RUNS_SHOWN = 10
NOTES_SHOWN = 5
LISTED_MAX = 1500
"""Labels that are listed one by one; of more, sorts are chosen, and what needs printing or all."""


def labels_page(request: HttpRequest) -> HttpResponse:
    """Ask what to print labels of, and lead to all else about labels."""
    text = request.GET.get("q", "").strip()
    found = [each for each in find(text) if each.noun in CHOICES] if text else []
    context = {"text": text, "found": found, "runs": prints.runs()[:RUNS_SHOWN]}
    return render(request, "records/printing/labels.html", context)


def print_page(request: HttpRequest) -> HttpResponse:
    """Choose what to print and on what; print it, with codes for what has none."""
    is_sent = request.method == "POST"
    scope = scope_of(request.POST if is_sent else request.GET)
    if scope is None:
        return redirect("labels")
    if scope.is_too_large:
        return ask_for_part(request, scope, "print")
    form = PrintForm(request.POST if is_sent else remembered(request, PrintForm))
    cable_label = form.data.get("cable_label", "") if form.is_valid() else ""
    found = scope.standings(cable_label)
    if not is_sent:
        only_needed = scope.noun in {"place", "job"} and request.GET.get("choose") != "all"
        return _show(request, scope, usual_groups(found, only_needed=only_needed), form)
    groups = sent_groups(found, request.POST)
    if "check" in request.POST or "page" in request.POST:
        return _show(request, scope, groups, form)
    return _print(request, scope, groups, form)


def ask_for_part(request: HttpRequest, scope: Scope, route: str) -> HttpResponse:
    """Ask for a part of a place that holds more than one page can show."""
    place: Place = scope.thing
    inside = children(place)
    parts = Place.objects.in_bulk(inside)
    context = {
        "place": place,
        "parts": [parts[pk] for pk in inside],
        "url": reverse(route),
    }
    return render(request, "records/printing/part.html", context)


def remembered(request: HttpRequest, form: type[OrderForm]) -> dict[str, Any]:
    """Return what a form starts with: what was used last, else what is usual."""
    usual = {name: each.initial for name, each in form.base_fields.items()}
    kept = request.session.get(REMEMBERED, {})
    return {**usual, **{name: value for name, value in kept.items() if name in usual}}


def _print(
    request: HttpRequest, scope: Scope, groups: list[Group], form: PrintForm
) -> HttpResponse:
    """Lay the labels out, then record them; a run that can't be printed leaves nothing."""
    if not form.is_valid():
        return _show(request, scope, groups, form, status=UNPROCESSABLE)
    sending = once.sent(request.POST)
    first = once.recorded(signed_in(request), sending) if sending else None
    if first is not None:
        # What was needed then is needed no longer, so it can't be laid out again.
        return _of_run(first)
    try:
        order = form.order()
        laid = runs.lay_out(chosen_items(groups), order, random_codes(), form.shown_fields())
        return recorded(request, laid, scope.chosen, form)
    except LabelRefusal as refusal:
        return _show(request, scope, groups, form, refusal=refusal, status=UNPROCESSABLE)
    except Refusal as refusal:
        return _show(request, scope, groups, form, refusal=refusal, status=refusal.status)


def recorded(request: HttpRequest, laid: Laid, chosen: str, form: OrderForm) -> HttpResponse:
    """Record a run and lead to its page; one that is sent twice is recorded once.

    Raises: Malformed for a page that was shown too long ago; what `runs.record` raises.
    """
    sending = once.sent(request.POST)
    if sending is None:
        raise Malformed("This page was shown too long ago.", hint="Look at it, then print.")
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now()) as change:
            once.refuse_repeat(change, sending)
            run = runs.record(change, laid, chosen)
            once.keep(change, sending, ("print-run", run.pk))
    except once.Repeated as repeated:
        return _of_run(repeated.change)
    request.session[REMEMBERED] = {**request.session.get(REMEMBERED, {}), **form.kept()}
    for note in laid.file.notes[:NOTES_SHOWN]:
        messages.warning(request, note)
    messages.success(request, f"Recorded as {run}. Open its file and print it at 100 %.")
    return redirect("print-run", run.pk)


def _of_run(change: Change) -> HttpResponse:
    """Lead to the run that a change recorded."""
    return redirect("print-run", change.effect["steps"][0]["leads_to"][1])


def _show(
    request: HttpRequest,
    scope: Scope,
    groups: list[Group],
    form: PrintForm,
    *,
    refusal: LabelRefusal | Refusal | None = None,
    status: int = 200,
) -> HttpResponse:
    chosen = chosen_items(groups)
    context: dict[str, Any] = {
        "scope": scope,
        "groups": groups,
        "form": form,
        "cupboards": [
            each.standing.item
            for group in groups
            if group.what == "cupboard"
            for each in group.choices
        ],
        "refusal": refusal,
        "count": len(chosen),
        "is_listed": sum(len(group.choices) for group in groups) <= LISTED_MAX,
        "choose": (request.POST or request.GET).get("choose", ""),
        "without_code": len({item.holder for item in chosen if item.needs_code}),
        "notes": list(dict.fromkeys(item.note for item in chosen if item.note)),
        "was_sent": status != 200,  # noqa: PLR2004 (OK)
        "token": once.new_token(),
    }
    if refusal is None and form.is_valid() and chosen:
        try:
            context |= pictured(request, form, chosen, form.shown_fields())
        except LabelRefusal as refused:
            context["refusal"] = refused
    return render(request, "records/printing/print.html", context, status=status)


def pictured(
    request: HttpRequest, form: OrderForm, items: list[Item], shown: frozenset[str]
) -> dict[str, Any]:
    """Return one sheet as a picture, and which of how many it is. Raises: LabelRefusal."""
    order = form.order()
    total = order.pictures(len(items))
    asked = request.POST.get("page", "1")
    page = min(max(int(asked), 1), total) if asked.isdecimal() else 1
    picture = orders.picture(runs.FirstLook(items, shown), order, page - 1)
    return {
        "picture": _picture(picture.svg),
        "picture_notes": picture.notes,
        "page": page,
        "pages": total,
        "page_before": page - 1,
        "page_after": page + 1 if page < total else 0,
    }


def _picture(svg: str) -> SafeString:
    return mark_safe(svg)  # noqa: S308 (drawn by labels/, which escapes what it writes)
