"""The history of a thing, and the changes of the record."""

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib.auth import get_user_model
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from records.changes import VERBS
from records.queries.changes import change_answer, latest_changes
from records.queries.life import SHOWN, latest_version, life
from records.queries.things import model_of, named
from records.web.links import PAGED, url_of

PAGE_SIZE = 50
_SEVERAL = "several"


def history_page(request: HttpRequest, noun: str, thing_id: int) -> HttpResponse:
    """Show what became of a thing, also of one that is no longer there."""
    if noun not in PAGED:
        raise Http404(f"There is no history of a {noun}.")
    version = latest_version(noun, thing_id)
    if version is None:
        raise Http404(f"There never was a {noun} of number {thing_id}.")
    thing = model_of(noun).objects.filter(pk=thing_id).first()
    context = {
        "noun": noun,
        "thing_id": thing_id,
        "name": named(thing) if thing else f"{noun} {getattr(version, 'name', thing_id)}",
        "is_gone": thing is None,
        "url": url_of(noun, thing_id),
        "happenings": life(noun, thing_id),
        "shown_max": SHOWN,
    }
    return render(request, "records/history.html", context)


class ChangesFilter(forms.Form):
    """Which changes to show: whose, which verb, how far back, and before which number."""

    person = forms.ModelChoiceField(
        get_user_model().objects.order_by("username"), required=False, empty_label="anyone"
    )
    verb = forms.ChoiceField(required=False)
    days = forms.IntegerField(required=False, min_value=1, max_value=36_500, label="Days back")
    before = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        names = [*sorted(VERBS), _SEVERAL]
        verb = self.fields["verb"]
        if isinstance(verb, forms.ChoiceField):
            verb.choices = [("", "any"), *((name, _said(name)) for name in names)]


def _said(verb: str) -> str:
    noun, _, word = verb.partition(".")
    return f"{noun}: {word.replace('_', ' ')}" if word else noun


def changes_page(request: HttpRequest) -> HttpResponse:
    """Show the latest changes."""
    form = ChangesFilter(request.GET)
    changes = []
    if form.is_valid():
        chosen = form.cleaned_data
        days = chosen["days"]
        changes = latest_changes(
            PAGE_SIZE + 1,
            before=chosen["before"],
            actor_id=chosen["person"].pk if chosen["person"] else None,
            verb=chosen["verb"],
            since=timezone.now() - timedelta(days=days) if days else None,
        )
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
    return render(request, "records/change.html", {"answer": answer, "change": answer.change})
