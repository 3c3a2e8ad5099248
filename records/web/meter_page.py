"""The page that takes in readings from a meter's file: each verdict first, then all or nothing."""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from records.changes import Refusal
from records.intake import Fault, FaultsError, UnreadableError, meter_file
from records.web.forms.intake import MeterFileForm
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE

SHOWN_MAX = 300
"""Rows and faults listed on a page."""


def meter_page(request: HttpRequest) -> HttpResponse:
    """Ask for a file, show what it would record, record it."""
    if request.method != "POST":
        return _show(request, MeterFileForm())
    form = MeterFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _show(request, form, status=UNPROCESSABLE)
    at = _moment(form)
    try:
        sheet = form.sheet()
        meter_file.refuse_long(sheet)
        plan = meter_file.check(
            sheet,
            actor=signed_in(request),
            at=at,
            has_decimal_commas=form.cleaned_data["has_decimal_commas"],
        )
        kept = {**form.to_keep(), "checked_at": at.isoformat()}
    except UnreadableError as unreadable:
        return _show(request, form, status=UNPROCESSABLE, refused=unreadable)
    if "take-in" in request.POST:
        return _take_in(request, form, plan, kept)
    return _show(request, form, plan=plan, faults=plan.faults, kept=kept)


def _moment(form: MeterFileForm) -> datetime:
    """Return when the file was first checked: pressed twice, it is the same file to the second."""
    now = timezone.now()
    checked_at: datetime | None = form.cleaned_data["checked_at"]
    return min(checked_at, now) if checked_at else now


def _take_in(
    request: HttpRequest, form: MeterFileForm, plan: meter_file.MeterPlan, kept: dict[str, str]
) -> HttpResponse:
    reason = form.cleaned_data["reason"] or f"Readings from {form.sheet_name}"[:300]
    try:
        taken = meter_file.commit(plan, actor=signed_in(request), at=timezone.now(), reason=reason)
    except FaultsError as error:
        return _show(
            request, form, status=UNPROCESSABLE, plan=plan, faults=error.faults, kept=kept
        )
    except Refusal as refusal:
        return _show(request, form, status=refusal.status, refused=refusal, kept=kept)
    if taken.change is None:
        messages.success(request, "The record has all of these readings already.")
        return redirect("meter-file")
    count, number = len(taken.plan.fresh), taken.change.number
    noun = "reading was" if count == 1 else "readings were"
    messages.success(request, f"{count} {noun} recorded as change {number}.")
    return redirect(reverse("change", args=[number]))


def _show(
    request: HttpRequest,
    form: MeterFileForm,
    *,
    status: int = 200,
    refused: UnreadableError | Refusal | None = None,
    plan: meter_file.MeterPlan | None = None,
    faults: tuple[Fault, ...] = (),
    kept: dict[str, str] | None = None,
) -> HttpResponse:
    rows = plan.rows if plan else ()
    context: dict[str, Any] = {
        "form": form,
        "columns": meter_file.COLUMNS,
        "refused": refused,
        "plan": plan,
        "faults": faults[:SHOWN_MAX],
        "faults_hidden": max(0, len(faults) - SHOWN_MAX),
        "faults_count": len(faults),
        "rows": rows[:SHOWN_MAX],
        "rows_hidden": max(0, len(rows) - SHOWN_MAX),
        "fresh_count": len(plan.fresh) if plan else 0,
        "kept": kept or {},
        "was_sent": status != OK,
    }
    return render(request, "records/intake/meter_file.html", context, status=status)
