"""A place too large to be asked about at once: the places inside it, to choose from."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest

from records.models import Place
from records.queries.contents import children, inside

SHOWN = 100
"""Places on a page."""


def places_inside(request: HttpRequest, place: Place) -> dict[str, Any]:
    """Return what `light/_choose_inside.html` shows: a page of the places right inside a place."""
    page = Paginator(children(place), SHOWN).get_page(request.GET.get("page"))
    return {"page": page, "inner": inside(list(page.object_list), is_counted=False)}
