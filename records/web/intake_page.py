"""The page that takes in a crew's sheet: what it would add, every fault, and all or nothing."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from records import intake
from records.changes import Refusal
from records.queries.words import counted
from records.web.forms.intake import IntakeForm
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE

REHEARSED_MAX = 1_000
"""Rows that are tried out for real at a check: some 4 ms each, while others wait."""

TAKEN_IN_MAX = 2_000
"""Rows that a page takes in; more belong to the command, which no browser waits for."""

SLOW = 200
"""Rows whose taking in a person notices, and so do others."""

SHOWN_MAX = 500
"""Rows and faults listed on a page."""


def intake_page(request: HttpRequest) -> HttpResponse:
    """Ask for a sheet, check it, take it in."""
    if request.method != "POST":
        form = IntakeForm(initial={"estate": request.GET.get("estate", "")})
        return _show(request, form)
    form = IntakeForm(request.POST, request.FILES)
    if not form.is_valid():
        return _show(request, form, status=UNPROCESSABLE)
    try:
        plan, kept = _checked(form), form.to_keep()
    except intake.UnreadableError as unreadable:
        return _show(request, form, status=UNPROCESSABLE, refused=unreadable)
    if "take-in" in request.POST:
        return _take_in(request, form, plan, kept)
    return _rehearse(request, form, plan, kept)


def _checked(form: IntakeForm) -> intake.Plan:
    """Check the sheet of the form. Raises: UnreadableError."""
    return intake.check(
        form.sheet(), estate=form.cleaned_data["estate"], assumptions=form.assumptions()
    )


def _rehearse(
    request: HttpRequest, form: IntakeForm, plan: intake.Plan, kept: dict[str, str]
) -> HttpResponse:
    """Show what the sheet would do, and what the verbs would refuse where it is short enough."""
    faults = plan.faults
    is_rehearsed = plan.is_sound and not plan.is_there_already and len(plan.rows) <= REHEARSED_MAX
    try:
        if is_rehearsed:
            faults = intake.rehearse(plan, actor=signed_in(request), at=timezone.now())
    except Refusal as refusal:
        return _show(request, form, status=refusal.status, refused=refusal, kept=kept)
    return _show(request, form, plan=plan, faults=faults, is_rehearsed=is_rehearsed, kept=kept)


def _take_in(
    request: HttpRequest, form: IntakeForm, plan: intake.Plan, kept: dict[str, str]
) -> HttpResponse:
    if plan.is_sound and plan.is_there_already:
        messages.success(request, "The record has all of this sheet already.")
        return redirect("intake")
    if len(plan.rows) > TAKEN_IN_MAX:
        return _show(request, form, status=UNPROCESSABLE, plan=plan, faults=plan.faults, kept=kept)
    reason = form.cleaned_data["reason"] or f"Taken in from {form.sheet_name}"[:300]
    try:
        change = intake.commit(plan, actor=signed_in(request), at=timezone.now(), reason=reason)
    except intake.FaultsError as error:
        return _refused(request, form, plan, kept=kept, faults=error.faults)
    except Refusal as refusal:
        return _show(request, form, status=refusal.status, refused=refusal, kept=kept)
    messages.success(
        request, f"{counted(len(plan.rows), 'row')} taken in as change {change.number}."
    )
    return redirect(reverse("change", args=[change.number]))


def _refused(
    request: HttpRequest,
    form: IntakeForm,
    plan: intake.Plan,
    *,
    kept: dict[str, str],
    faults: tuple[intake.Fault, ...],
) -> HttpResponse:
    """Show the faults, unless the sheet was taken in meanwhile: a button pressed twice."""
    if plan.is_sound and _checked(form).is_there_already:
        messages.success(request, "The record has all of this sheet already.")
        return redirect("intake")
    return _show(request, form, status=UNPROCESSABLE, plan=plan, faults=faults, kept=kept)


def _show(
    request: HttpRequest,
    form: IntakeForm,
    *,
    status: int = 200,
    refused: intake.UnreadableError | Refusal | None = None,
    plan: intake.Plan | None = None,
    faults: tuple[intake.Fault, ...] = (),
    is_rehearsed: bool = False,
    kept: dict[str, str] | None = None,
) -> HttpResponse:
    context: dict[str, Any] = {
        "form": form,
        "columns": intake.COLUMNS,
        "refused": refused,
        "plan": plan,
        "faults": faults[:SHOWN_MAX],
        "faults_hidden": max(0, len(faults) - SHOWN_MAX),
        "faults_count": len(faults),
        "rows": plan.rows[:SHOWN_MAX] if plan else (),
        "rows_hidden": max(0, len(plan.rows) - SHOWN_MAX) if plan else 0,
        "is_rehearsed": is_rehearsed,
        "is_too_long": plan is not None and len(plan.rows) > TAKEN_IN_MAX,
        "is_slow": plan is not None and len(plan.rows) > SLOW,
        "kept": kept or {},
        "was_sent": status != OK,
    }
    return render(request, "records/intake/intake.html", context, status=status)
