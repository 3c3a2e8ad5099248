"""What was filled in when a sign-in had ended or a form was too old: kept until shown again.

A form that can't be taken is asked for again by its own page, filled in, with nothing recorded.
On the way through the sign-in page the fields travel in that page; a session keeps them only for
someone who has signed in. Passwords and files are never kept, nor are texts as long as a sheet.
"""

from django.contrib import messages
from django.http import HttpRequest, QueryDict

KEPT_MAX = 20_000
"""Characters kept: more than any form of a verb holds, less than a pasted sheet."""

_KEY = "unsent"
_PAGES = ("do", "job-draft", "job-details", "job-step-add", "job-step", "undo")
"""The pages that take up what was filled in."""

_NOT_KEPT = ("csrfmiddlewaretoken", "password", "token", "check")


def filled_in(request: HttpRequest) -> str:
    """Return the fields sent to a page that takes them up again, as they stand in an address."""
    if request.resolver_match is None or request.resolver_match.url_name not in _PAGES:
        return ""
    fields = request.POST.copy()
    for name in _NOT_KEPT:
        fields.pop(name, None)
    text = fields.urlencode()
    return text if len(text) <= KEPT_MAX else ""


def keep(request: HttpRequest, address: str, fields: str) -> None:
    """Keep what was filled in for the page of that address, and say that nothing was recorded."""
    if 0 < len(fields) <= KEPT_MAX:
        request.session[_KEY] = {"address": address, "fields": fields}
    messages.warning(request, "Nothing was recorded yet. Look at what is here, and send it again.")


def sent(request: HttpRequest) -> QueryDict | None:
    """Return what was filled in, now or before the sign-in had ended; None for a fresh look.

    What was kept is taken up once: the next look is a fresh one.
    """
    if request.method == "POST":
        return request.POST
    kept = request.session.get(_KEY)
    if request.method != "GET" or kept is None or kept["address"] != request.get_full_path():
        return None
    del request.session[_KEY]
    return QueryDict(kept["fields"])
