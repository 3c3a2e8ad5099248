"""Who goes dark if a thing is cut."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.queries.below import below, points_of
from records.queries.things import model_of, named
from records.web.links import url_of
from records.web.past import as_asked

SHOWN = 300
_CUT = ("point", "equipment", "cable")


@as_asked
def below_page(request: HttpRequest, noun: str, thing_id: int) -> HttpResponse:
    """Show the terminals whose light passes a thing; alone where a page asks to be completed."""
    if noun not in _CUT:
        raise Http404(f"Light doesn't pass through a {noun}.")
    thing = model_of(noun).objects.filter(pk=thing_id).first()
    if thing is None:
        raise Http404(f"There is no such {noun}. It may have been removed; find it again.")
    hanging = below(points_of(thing))
    context: dict[str, Any] = {
        "name": named(thing),
        "url": url_of(noun, thing_id),
        "hanging": hanging[:SHOWN],
        "count": len(hanging),
        "shown": SHOWN,
    }
    is_part = request.headers.get("HX-Request") == "true"
    return render(request, "records/_below.html" if is_part else "records/below.html", context)
