"""The first page: the find box, what is built and not recorded, what the record holds."""

import re
from collections.abc import Iterator
from typing import NamedTuple

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


class Hint(NamedTuple):
    """One thing to try in the demo: before, inside and after what to type, and the sight."""

    before: str
    typed: str
    after: str
    see: str


def home(request: HttpRequest) -> HttpResponse:
    """Show the first page."""
    is_counted = request.GET.get("count") == "legs" or not is_large(None)
    page = Paginator(children(None), PLACES_SHOWN).get_page(request.GET.get("page"))
    context = {
        "hints": list(_hints(request)),
        "places": inside(list(page.object_list), is_counted=is_counted),
        "page": page,
        "is_counted": is_counted,
        "built": built_not_recorded(BUILT_SHOWN),
        "changes": latest_changes(CHANGES_SHOWN),
    }
    return render(request, "records/home.html", context)


_TYPED = re.compile(r"`([^`]*)`")


def _hints(request: HttpRequest) -> Iterator[Hint]:
    """Yield what to try, where this is the demo of the one who is signed in."""
    if scenario.standing(request.user.get_username()) is not scenario.Standing.DEMO:
        return
    for each in scenario.what_to_try(settings.BASE_DIR / "fixtures"):
        before, typed, after = (*_TYPED.split(each.do, maxsplit=1), "", "")[:3]
        yield Hint(before, typed, after.replace("`", ""), each.see.replace("`", ""))


def safety(request: HttpRequest) -> HttpResponse:
    """Show the safety words in full."""
    return render(request, "records/safety.html")
