"""How the labels of a place stand: gone wrong, missing, never seen; and how many are covered."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labels.choices import place_items
from labels.standing import Standing, State, left_behind, standings
from records.web.printing import ask_for_part
from records.web.printing_runs import shown_label
from records.web.printing_scope import scope_of

PORTS = {"port", "leg"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """How many things of a place have a label, and how many labels were seen."""

    things: int
    labelled: int
    stale: int
    missing: int
    unrecorded: int
    ports: int
    ports_without: int
    coded: int
    never_seen: int

    @property
    def needed(self) -> int:
        """Return how many labels need printing."""
        return self.stale + self.missing


def standing_page(request: HttpRequest) -> HttpResponse:
    """Show the labels of a place that are to be replaced, put up or looked for."""
    scope = scope_of(request.GET)
    if scope is None or scope.noun != "place":
        return redirect("labels")
    if scope.is_too_large:
        return ask_for_part(request, scope, "labels-standing")
    items = place_items(scope.thing)
    found = standings(items)
    # Whether a caution belongs somewhere is the assessor's to say, so none is missed here.
    counted = [each for each in found if each.item.kind != "caution" or each.printed]
    context = {
        "scope": scope,
        "coverage": _coverage(counted),
        "cupboards": [item for item in items if item.what == "cupboard"],
        "stale": list(_by_place(each for each in counted if each.state == State.STALE)),
        "gone": [shown_label(each) for each in left_behind(scope.thing, items)],
        "ports_without": list(
            _by_place(
                each for each in counted if each.item.what in PORTS and each.state == State.MISSING
            )
        ),
        "never_seen": list(_by_place(each for each in counted if each.is_never_seen)),
    }
    return render(request, "records/printing/standing.html", context)


def _coverage(found: list[Standing]) -> Coverage:
    states = [each.state for each in found]
    ports = [each for each in found if each.item.what in PORTS]
    return Coverage(
        things=len(found),
        labelled=len(found) - states.count(State.MISSING),
        stale=states.count(State.STALE),
        missing=states.count(State.MISSING),
        unrecorded=states.count(State.UNRECORDED),
        ports=len(ports),
        ports_without=sum(each.state == State.MISSING for each in ports),
        coded=sum(bool(each.item.code) for each in found),
        never_seen=sum(each.is_never_seen for each in found),
    )


def _by_place(found: Iterable[Standing]) -> Iterator[tuple[str, list[Standing]]]:
    """Yield standings by place, in the order of a walk."""
    for where, of_place in groupby(found, key=lambda each: each.item.where):
        yield where, list(of_place)
