"""The one page for all verbs: shows a form, says what it would do, records it."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html

from records import changes
from records.changes import Refusal
from records.web import once, unsent
from records.web.effects import Effect, effect_of
from records.web.forms import FORMS, GROUPS
from records.web.forms.verb_form import VerbForm
from records.web.links import url_of
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE


def all_verbs(request: HttpRequest) -> HttpResponse:
    """Show every form there is."""
    return render(request, "records/verbs/all.html", {"groups": GROUPS})


def verb_page(request: HttpRequest, verb: str) -> HttpResponse:
    """Show the form of a verb with what it would do, or record what was sent.

    A form that is sent to be checked is shown again, and nothing is recorded.
    """
    form_class = FORMS.get(verb)
    if form_class is None:
        raise Http404(f"There is no form {verb!r}.")
    is_sent = request.method == "POST"
    sent = unsent.sent(request)
    form = form_class(form_class.filled(request.GET) if sent is None else sent)
    if form.first_answers and form.data.get(form.asks_first) not in dict(form.first_answers):
        return _ask_first(request, form)
    if is_sent and "check" not in request.POST:
        return _record(request, form)
    return _show(request, form, effect=_previewed(request, form))


def _ask_first(request: HttpRequest, form: VerbForm) -> HttpResponse:
    """Show what must be known before the fields are: what kind, what noun."""
    answers = []
    for value, words in form.first_answers:
        query = request.GET.copy()
        query[form.asks_first] = value
        answers.append((f"?{query.urlencode()}", words))
    context = {"form": form, "asked": form[form.asks_first], "answers": answers}
    status = UNPROCESSABLE if request.method == "POST" else 200
    return render(request, "records/verbs/first.html", context, status=status)


def _previewed(request: HttpRequest, form: VerbForm) -> Effect | None:
    """Return what the form would do; None where it isn't filled in or would be refused."""
    if not form.is_valid():
        form.forgive_missing()
        return None
    effect = None
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now(), preview=True) as change:
            form.run(change)
            effect = effect_of(change)
    except Refusal as refusal:
        form.refusal = refusal
    return effect


def _record(request: HttpRequest, form: VerbForm) -> HttpResponse:
    sending = once.sent(request.POST)
    if sending is None:
        form.add_error(None, "This form was shown too long ago. Look at it, and send it again.")
    if sending is None or not form.is_valid():
        return _show(request, form, status=UNPROCESSABLE)
    before = form.before()
    try:
        with changes.opened(
            actor=signed_in(request), reason=form.reason_given(), at=timezone.now()
        ) as change:
            once.refuse_repeat(change, sending)
            result = form.run(change)
            leads_to = form.after(result) or before
            once.keep(change, sending, leads_to)
    except once.Repeated as repeated:
        return _done(request, repeated.change.number, repeated.change.effect["steps"][0])
    except Refusal as refusal:
        form.refusal = refusal
        return _show(request, form, status=refusal.status)
    return _done(request, change.number, change.steps[0])


def _done(request: HttpRequest, number: int, step: dict[str, Any]) -> HttpResponse:
    """Say what was recorded, on the page of the thing it is about."""
    words = step["words"][:1].upper() + step["words"][1:]
    link = format_html('<a href="{}">change {}</a>', reverse("change", args=[number]), number)
    messages.success(request, format_html("{}: {}.", words, link))
    leads_to = step["leads_to"]
    return redirect(url_of(*leads_to) if leads_to else reverse("home"))


def _show(
    request: HttpRequest, form: VerbForm, *, effect: Effect | None = None, status: int = 200
) -> HttpResponse:
    context = {
        "form": form,
        "rows": list(form.rows()),
        "effect": effect,
        "was_sent": status != OK,
        "token": once.new_token(),
    }
    return render(request, "records/verbs/form.html", context, status=status)
