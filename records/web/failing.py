"""What a page answers when it is sent too much, has to wait too long, or its program fails."""

import sys

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.defaults import bad_request, server_error

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


TOO_LARGE = 413


def unreadable(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer a request that can't be read: 413 with the limit if it is too large, else 400.

    A form's fields are read before any page is asked, so no page can say it of its own.
    """
    if not isinstance(exception, RequestDataTooBig):
        return bad_request(request, exception)
    limit_mb = settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 1e6
    return render(request, "413.html", {"limit_mb": limit_mb}, status=TOO_LARGE)
