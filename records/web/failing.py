"""What a page answers when its program fails, or when the database kept it waiting too long."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.defaults import server_error

from records.changes import Busy, is_lock


def failed(request: HttpRequest) -> HttpResponse:
    """Answer a request whose program raised: 503 if all it met was another change, else 500.

    Verbs refuse such a wait themselves. This is for what is written beside the record: a session
    at sign-in and sign-out, a wrong password, the sighting of a label.
    """
    if not is_lock(sys.exc_info()[1]):
        return server_error(request)
    answer = render(request, "503.html", {"busy": Busy()}, status=Busy.status)
    answer["Retry-After"] = str(Busy.retry_after_s)
    return answer
