"""Pages of the record as it stood: `?at=62` asks for the state after change 62.

`?at=2026-03-02` asks for the end of that day, `?at=2026-03-02T09:30Z` for that time.
"""

import re
from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import quote

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone

from records.models import Change
from records.queries.moment import NoSuchMomentError, as_it_stood, moment_asked

View = Callable[..., HttpResponse]

_LINK = re.compile(
    r'((?:href|hx-get)="/(?:places|equipment|points|cables|lines|below|find)\b[^"?#]*)'
    r'(\?[^"#]*)?(#[^"]*)?"'
)
"""A link to a page that can answer for the past."""


def as_asked(view: View) -> View:
    """Let a page answer for the past where its address asks for it.

    The page then shows `request.past`, the change after which it stands, and offers no verbs. Its
    links stay in the past too.
    """

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        asked = request.GET.get("at", "")
        if not asked:
            return view(request, *args, **kwargs)
        try:
            number = moment_asked(asked, now=timezone.now())
        except NoSuchMomentError as error:
            raise Http404(str(error)) from error
        request.past = Change.objects.get(number=number)  # type: ignore[attr-defined] # for base.html
        with as_it_stood(number):
            response = view(request, *args, **kwargs)
        return _kept_there(response, asked)

    return answer


def _kept_there(response: HttpResponse, asked: str) -> HttpResponse:
    """Return a page whose links ask for the same moment."""
    at = quote(asked)

    def later(link: re.Match[str]) -> str:
        address, query, anchor = link.groups(default="")
        if re.search(r"[?;]at=", query):
            return link[0]
        asks = f"{query}&amp;at={at}" if query else f"?at={at}"
        return f'{address}{asks}{anchor}"'

    if not response.streaming and "text/html" in response.headers.get("Content-Type", ""):
        response.content = _LINK.sub(later, response.content.decode()).encode()
    return response
