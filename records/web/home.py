"""The first page: the find box, what is built and not recorded, what the record holds."""

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from records.intake import scenario
from records.queries.changes import latest_changes
from records.queries.contents import children, inside, is_large
from records.queries.jobs import built_not_recorded

PLACES_SHOWN = 50
CHANGES_SHOWN = 5
BUILT_SHOWN = 20


def home(request: HttpRequest) -> HttpResponse:
    """Show the first page."""
    is_counted = request.GET.get("count") == "legs" or not is_large(None)
    page = Paginator(children(None), PLACES_SHOWN).get_page(request.GET.get("page"))
    context = {
        "hints": _hints(request),
        "places": inside(list(page.object_list), is_counted=is_counted),
        "page": page,
        "is_counted": is_counted,
        "built": built_not_recorded(BUILT_SHOWN),
        "changes": latest_changes(CHANGES_SHOWN),
    }
    return render(request, "records/home.html", context)


def _hints(request: HttpRequest) -> tuple[scenario.Try, ...]:
    """Return what to try, where this is the demo of the one who is signed in."""
    if scenario.standing(request.user.get_username()) is not scenario.Standing.DEMO:
        return ()
    return scenario.what_to_try(settings.BASE_DIR / "fixtures")


def safety(request: HttpRequest) -> HttpResponse:
    """Show the safety words in full."""
    return render(request, "records/safety.html")
