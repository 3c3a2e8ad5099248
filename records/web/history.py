"""The history of a thing, and the changes of the record."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django import forms
from django.contrib.auth import get_user_model
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records import intake
from records.changes import VERBS
from records.queries.changes import SEVERAL, Wanted, change_answer, latest_changes
from records.queries.life import latest_version, life
from records.queries.things import model_of, named
from records.web.forms import FORMS
from records.web.links import PAGED, url_of

PAGE_SIZE = 50
STEPS_SHOWN = 100


class ChangesFilter(forms.Form):
    """Which changes to show: whose, which verb, from when to when, and before which number."""

    person = forms.ModelChoiceField(
        get_user_model().objects.order_by("username"), required=False, empty_label="anyone"
    )
    verb = forms.ChoiceField(required=False, label="What was done")
    first = forms.DateField(
        required=False, label="From", widget=forms.DateInput(attrs={"type": "date"})
    )
    last = forms.DateField(
        required=False, label="Until", widget=forms.DateInput(attrs={"type": "date"})
    )
    before = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = sorted((_said(name), name) for name in VERBS)
        verb = self.fields["verb"]
        if isinstance(verb, forms.ChoiceField):
            verb.choices = [
                ("", "anything"),
                *((name, said) for said, name in listed),
                (intake.TAKE_IN, "a sheet taken in"),
                (SEVERAL, "several things at once"),
            ]

    def wanted(self) -> Wanted:
        """Return which changes are asked for."""
        told = self.cleaned_data
        return Wanted(
            actor_id=told["person"].pk if told["person"] else None,
            verb=told["verb"],
            made_from=_begins(told["first"]) if told["first"] else None,
            made_before=_begins(told["last"] + timedelta(days=1)) if told["last"] else None,
            before=told["before"],
        )


def _begins(day: date) -> datetime:
    return datetime.combine(day, time.min, tzinfo=UTC)


def _said(verb: str) -> str:
    """Return what a verb's form is called; of one without a form, its own words."""
    if verb in FORMS:
        return str(FORMS[verb].title)
    noun, _, word = verb.partition(".")
    return f"{noun.replace('_', ' ')}: {word.replace('_', ' ')}".capitalize()


def history_page(request: HttpRequest, noun: str, thing_id: int) -> HttpResponse:
    """Show what became of a thing and of all on it or in it, also of one no longer there."""
    if noun not in PAGED:
        raise Http404(f"There is no history of a {noun}.")
    version = latest_version(noun, thing_id)
    if version is None:
        raise Http404(f"There never was a {noun} of number {thing_id}.")
    thing = model_of(noun).objects.filter(pk=thing_id).first()
    form = ChangesFilter(request.GET)
    found = life(noun, thing_id, form.wanted(), count=PAGE_SIZE + 1) if form.is_valid() else []
    context = {
        "noun": noun,
        "thing_id": thing_id,
        "name": named(thing) if thing else f"{noun} {getattr(version, 'name', thing_id)}",
        "is_gone": thing is None,
        "url": url_of(noun, thing_id),
        "happenings": found[:PAGE_SIZE],
        "form": form,
        "older": found[PAGE_SIZE - 1].change.number if len(found) > PAGE_SIZE else None,
        "query": _without_before(request),
    }
    return render(request, "records/history.html", context)


def changes_page(request: HttpRequest) -> HttpResponse:
    """Show the latest changes."""
    form = ChangesFilter(request.GET)
    changes = latest_changes(PAGE_SIZE + 1, form.wanted()) if form.is_valid() else []
    context = {
        "form": form,
        "changes": changes[:PAGE_SIZE],
        "older": changes[PAGE_SIZE - 1].number if len(changes) > PAGE_SIZE else None,
        "query": _without_before(request),
    }
    return render(request, "records/changes.html", context)


def _without_before(request: HttpRequest) -> str:
    query = request.GET.copy()
    query.pop("before", None)
    return query.urlencode()


def change_page(request: HttpRequest, number: int) -> HttpResponse:
    """Show one change and what it did."""
    answer = change_answer(number)
    if answer is None:
        raise Http404(f"There is no change {number}.")
    page = Paginator(answer.steps, STEPS_SHOWN).get_page(request.GET.get("page"))
    context = {"answer": answer, "change": answer.change, "page": page}
    return render(request, "records/change.html", context)
