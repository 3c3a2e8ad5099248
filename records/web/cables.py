"""A cable: its fibres, both ends of each, and who hangs below."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.models import Cable
from records.queries.cables import fibres
from records.queries.levels import lit_at
from records.queries.tags import tags_on
from records.web import actions
from records.web.past import as_asked


@as_asked
def cable_page(request: HttpRequest, cable_id: int) -> HttpResponse:
    """Show a cable."""
    cable = (
        Cable.objects.select_related("a_place", "b_place", "entry", "colour_scheme")
        .filter(pk=cable_id)
        .first()
    )
    if cable is None:
        raise Http404("There is no such cable. It may have been removed; find it again.")
    listed = fibres(cable)
    lit = {each.point_id for each in lit_at(fibre.a_end.point_id for fibre in listed)}
    lit |= {each.point_id for each in lit_at(fibre.b_end.point_id for fibre in listed)}
    context = {
        "cable": cable,
        "fibres": [
            (fibre, fibre.a_end.point_id in lit or fibre.b_end.point_id in lit) for fibre in listed
        ],
        "actions": list(actions.on_cable(cable)),
        "tags": tags_on("cable", cable_id),
    }
    return render(request, "records/cable.html", context)
