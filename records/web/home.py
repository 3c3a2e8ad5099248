"""The first page: the find box, what the record holds, what happened last."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from records.queries.changes import latest_changes
from records.queries.contents import children, inside, is_large

PLACES_SHOWN = 50
CHANGES_SHOWN = 5


def home(request: HttpRequest) -> HttpResponse:
    """Show the first page."""
    is_counted = request.GET.get("count") == "legs" or not is_large(None)
    page = Paginator(children(None), PLACES_SHOWN).get_page(request.GET.get("page"))
    context = {
        "places": inside(list(page.object_list), is_counted=is_counted),
        "page": page,
        "is_counted": is_counted,
        "changes": latest_changes(CHANGES_SHOWN),
    }
    return render(request, "records/home.html", context)


def safety(request: HttpRequest) -> HttpResponse:
    """Show the safety words in full."""
    return render(request, "records/safety.html")
