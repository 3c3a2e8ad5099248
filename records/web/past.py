"""Pages of the record as it stood: `?at=62` asks a thing's page for the state after change 62."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

from records.queries.changes import change_answer
from records.queries.moment import as_it_stood

View = Callable[..., HttpResponse]


def as_asked(view: View) -> View:
    """Let a page answer for the past where its address asks for it.

    The page then shows `request.past`, the change after which it stands, and offers no verbs.
    """

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        asked = request.GET.get("at", "")
        if not asked:
            return view(request, *args, **kwargs)
        change = change_answer(int(asked)) if asked.isdecimal() else None
        if change is None:
            raise Http404(f"There is no change {asked}, after which to show the record.")
        request.past = change.change  # type: ignore[attr-defined] # for base.html
        with as_it_stood(change.change.number):
            return view(request, *args, **kwargs)

    return answer
