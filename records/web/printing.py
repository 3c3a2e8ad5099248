"""The print page: choose labels, see the sheet, print it; the record knows what was printed."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from labels import orders, runs
from labels.choices import CHOICES
from labels.choosing import Scope, Wanted
from labels.item import USUAL_FIELDS, Item
from labels.random_codes import random_codes
from labels.refusals import LabelRefusal
from labels.runs import Laid
from labels.standing import Standing, standings
from records import changes
from records.changes import Refusal
from records.changes.refusals import Malformed
from records.models import Change, Place
from records.queries import prints
from records.queries.contents import children
from records.queries.find import find
from records.web import once
from records.web.forms.printing import OrderForm, PrintForm
from records.web.printing_scope import asked_scope, groups, sent_wanted
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE
from records.web.whole import whole

REMEMBERED = "label order"
RUNS_SHOWN = 10
NOTES_SHOWN = 5
LISTED_MAX = 1500
"""Labels that are listed one by one; of more, sorts are chosen, and what needs printing or all."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a print page is about, how its labels stand, and which are wanted."""

    scope: Scope
    found: list[Standing]
    wanted: Wanted

    @property
    def chosen(self) -> list[Item]:
        """Return what is wanted, in the order of a walk."""
        return self.wanted.of_standings(self.found)


def labels_page(request: HttpRequest) -> HttpResponse:
    """Ask what to print labels of, and lead to all else about labels."""
    text = request.GET.get("q", "").strip()
    found = [each for each in find(text) if each.noun in CHOICES] if text else []
    context = {"text": text, "found": found, "runs": prints.runs()[:RUNS_SHOWN]}
    return render(request, "records/printing/labels.html", context)


def print_page(request: HttpRequest) -> HttpResponse:
    """Choose what to print and on what; print it, with codes for what has none."""
    is_sent = request.method == "POST"
    scope = asked_scope(request.POST if is_sent else request.GET)
    if scope is None:
        return redirect("labels")
    if scope.is_too_large:
        return ask_for_part(request, scope, "print")
    form = PrintForm(request.POST if is_sent else remembered(request, PrintForm))
    cable_label = form.data.get("cable_label", "") if form.is_valid() else ""
    found = standings(scope.items(cable_label))
    if not is_sent:
        only_needed = scope.noun in {"place", "job"} and request.GET.get("choose") != "all"
        return _show(request, Asked(scope, found, Wanted(only_needed=only_needed)), form)
    asked = Asked(scope, found, sent_wanted(request.POST))
    if "check" in request.POST or "page" in request.POST:
        return _show(request, asked, form)
    return _print(request, asked, form)


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


def _print(request: HttpRequest, asked: Asked, form: PrintForm) -> HttpResponse:
    """Lay the labels out, then record them; a run that can't be printed leaves nothing."""
    if not form.is_valid():
        return _show(request, asked, form, status=UNPROCESSABLE)
    sending = once.sent(request.POST)
    first = once.recorded(signed_in(request), sending) if sending else None
    if first is not None:
        # What was needed then is needed no longer, so it can't be laid out again.
        return _of_run(first)
    try:
        order = form.order()
        laid = runs.lay_out(asked.chosen, order, random_codes(), form.shown_fields())
        return recorded(request, laid, asked.scope.chosen, form)
    except LabelRefusal as refusal:
        return _show(request, asked, form, refusal=refusal, status=UNPROCESSABLE)
    except Refusal as refusal:
        return _show(request, asked, form, refusal=refusal, status=refusal.status)


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
    asked: Asked,
    form: PrintForm,
    *,
    refusal: LabelRefusal | Refusal | None = None,
    status: int = 200,
) -> HttpResponse:
    chosen, found = asked.chosen, asked.found
    is_listed = len(found) <= LISTED_MAX
    look = runs.FirstLook(chosen, form.shown_fields() if form.is_valid() else USUAL_FIELDS)
    context: dict[str, Any] = {
        "scope": asked.scope,
        "groups": list(groups(found, asked.wanted, is_listed=is_listed)),
        "form": form,
        "cupboards": [each.item for each in found if each.item.what == "cupboard"],
        "refusal": refusal,
        "count": len(chosen),
        "is_listed": is_listed,
        "choose": (request.POST or request.GET).get("choose", ""),
        "without_code": look.new_code_count,
        "notes": look.item_notes,
        "was_sent": status != OK,
        "token": once.new_token(),
    }
    if refusal is None and form.is_valid() and chosen:
        try:
            context |= pictured(request, form, look)
        except LabelRefusal as refused:
            context["refusal"] = refused
    return render(request, "records/printing/print.html", context, status=status)


def pictured(request: HttpRequest, form: OrderForm, look: runs.FirstLook) -> dict[str, Any]:
    """Return one sheet as a picture, and which of how many it is. Raises: LabelRefusal."""
    order = form.order()
    total = order.pictures(len(look))
    page = min(whole(request.POST.get("page", "")) or 1, total)
    picture = orders.picture(look, order, page - 1)
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
