"""How the labels of a place stand: gone wrong, missing, never seen; and how many are covered."""

from collections.abc import Iterable, Iterator
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labels.choices import place_items
from labels.coverage import PORTS, counted, coverage
from labels.standing import Standing, State, left_behind, standings
from records.web.printing import ask_for_part
from records.web.printing_runs import shown_label
from records.web.printing_scope import asked_scope


def standing_page(request: HttpRequest) -> HttpResponse:
    """Show the labels of a place that are to be replaced, put up or looked for."""
    scope = asked_scope(request.GET)
    if scope is None or scope.noun != "place":
        return redirect("labels")
    if scope.is_too_large:
        return ask_for_part(request, scope, "labels-standing")
    items = place_items(scope.thing)
    found = standings(items)
    listed = counted(found)
    context = {
        "scope": scope,
        "coverage": coverage(listed),
        "cupboards": [item for item in items if item.what == "cupboard"],
        "stale": list(_by_place(each for each in listed if each.state == State.STALE)),
        "gone": [shown_label(each) for each in left_behind(scope.thing, items)],
        "ports_without": list(
            _by_place(
                each for each in listed if each.item.what in PORTS and each.state == State.MISSING
            )
        ),
        "never_seen": list(_by_place(each for each in listed if each.is_never_seen)),
    }
    return render(request, "records/printing/standing.html", context)


def _by_place(found: Iterable[Standing]) -> Iterator[tuple[str, list[Standing]]]:
    """Yield standings by place, in the order of a walk."""
    for where, of_place in groupby(found, key=lambda each: each.item.where):
        yield where, list(of_place)
