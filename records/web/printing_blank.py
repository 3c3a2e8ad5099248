"""Blank tags: codes printed before it is known what they hang on."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labels import runs
from labels.random_codes import random_codes
from labels.refusals import LabelRefusal
from records.changes import Refusal
from records.queries.words import counted
from records.web import once
from records.web.forms.printing import BlankForm
from records.web.printing import pictured, recorded, remembered
from records.web.statuses import OK, UNPROCESSABLE


def blank_page(request: HttpRequest) -> HttpResponse:
    """Show a sheet or roll of blank tags, or print it with new codes."""
    is_sent = request.method == "POST"
    form = BlankForm(request.POST if is_sent else remembered(request, BlankForm))
    if not is_sent or "check" in request.POST or "page" in request.POST:
        return _show(request, form)
    if not form.is_valid():
        return _show(request, form, status=UNPROCESSABLE)
    count = form.cleaned_data["count"]
    try:
        laid = runs.lay_out_blanks(count, form.order(), random_codes())
        return recorded(request, laid, counted(count, "blank tag"), form)
    except LabelRefusal as refusal:
        return _show(request, form, refusal=refusal, status=UNPROCESSABLE)
    except Refusal as refusal:
        return _show(request, form, refusal=refusal, status=refusal.status)


def _show(
    request: HttpRequest,
    form: BlankForm,
    *,
    refusal: LabelRefusal | Refusal | None = None,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {
        "form": form,
        "refusal": refusal,
        "was_sent": status != OK,
        "token": once.new_token(),
    }
    if refusal is None and form.is_valid():
        context["count"] = form.cleaned_data["count"]
        try:
            context |= pictured(request, form, runs.blank_look(context["count"]))
        except LabelRefusal as refused:
            context["refusal"] = refused
    return render(request, "records/printing/blank.html", context, status=status)
