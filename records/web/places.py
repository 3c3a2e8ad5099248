"""A place: a building by floors, a dwelling, or what is in any other place."""

from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.models import Place, PlaceKind
from records.optics.readings import Outcome
from records.queries.buildings import Building, Dwelling, building, dwellings
from records.queries.contents import children, contents, inside, is_large
from records.queries.jobs import open_inside
from records.queries.legs import leg_counts_in
from records.queries.tags import tags_on
from records.web import actions, crumbs
from records.web.past import as_asked

PAGE_SIZE = 50
JOBS_SHOWN = 10
ALL_FLOORS_MAX = 160
"""Dwellings up to which a building's page shows all floors; beyond, one floor at a time."""


@as_asked
def place_page(request: HttpRequest, place_id: int) -> HttpResponse:
    """Show a place."""
    place = Place.objects.filter(pk=place_id).first()
    if place is None:
        raise Http404("There is no such place.")
    asks_count = request.GET.get("count") == "legs"
    is_counted = asks_count or not is_large(place)
    context: dict[str, Any] = {
        "place": place,
        "crumbs": crumbs.around(place),
        "contents": contents(place),
        "counts": leg_counts_in(place) if is_counted else None,
        "tags": tags_on("place", place_id),
        "jobs": open_inside(place, JOBS_SHOWN),
    }
    if place.kind == PlaceKind.BUILDING:
        context |= _as_building(request, place)
    elif place.is_dwelling:
        context["dwelling"] = dwellings([place])[place.pk]
    context["actions"] = list(actions.at_place(place, context.get("dwelling")))
    if "building" not in context:
        context |= _inside(request, place, is_counted=is_counted)
    return render(request, "records/place.html", context)


def _as_building(request: HttpRequest, place: Place) -> dict[str, Any]:
    found = building(place)
    homes = [dwelling for floor in found.floors for dwelling in floor.dwellings]
    context = {
        "building": found,
        "floors": found.floors,
        "dwelling_count": len(homes),
        "to_look_at": [each for each in homes if _is_off(each)],
    }
    if len(homes) > ALL_FLOORS_MAX:
        context |= {"floors": [_chosen_floor(request, found)], "floor_links": found.floors}
    return context


def _is_off(dwelling: Dwelling) -> bool:
    """Tell whether a level read or recorded in a dwelling is not as it should be."""
    return any(
        (terminal.reading and terminal.reading.verdict.outcome is not Outcome.AS_EXPECTED)
        or any(lit.down_verdicts or lit.up_verdicts for lit in terminal.lit)
        for terminal in dwelling.terminals
    )


def _chosen_floor(request: HttpRequest, found: Building) -> Any:
    wanted = request.GET.get("floor", "")
    for floor in found.floors:
        if floor.place is not None and str(floor.place.pk) == wanted:
            return floor
    return found.floors[0]


def _inside(request: HttpRequest, place: Place, *, is_counted: bool) -> dict[str, Any]:
    page = Paginator(children(place), PAGE_SIZE).get_page(request.GET.get("page"))
    listed = inside(list(page.object_list), is_counted=is_counted)
    homes = dwellings([each.place for each in listed if each.place.is_dwelling])
    return {
        "page": page,
        "places": [each for each in listed if not each.place.is_dwelling],
        "dwellings": [homes[each.place.pk] for each in listed if each.place.is_dwelling],
    }
