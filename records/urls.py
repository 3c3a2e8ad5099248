"""Which address is answered by which face."""

from django.contrib.auth.decorators import login_not_required
from django.db import Error, connection
from django.http import HttpRequest, HttpResponse
from django.urls import include, path


@login_not_required
def healthz(_request: HttpRequest) -> HttpResponse:
    """Answer whether the database answers; no sign-in, nothing of the record is told."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return HttpResponse("the database does not answer\n", "text/plain", status=503)
    return HttpResponse("ok\n", "text/plain")


handler400 = "records.web.failing.unreadable"
handler500 = "records.web.failing.failed"

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("api/", include("api.urls")),
    path("", include("records.web.urls")),
]
