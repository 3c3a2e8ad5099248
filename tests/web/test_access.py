"""Nothing answers without a sign-in but what is listed here."""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.urls import URLPattern, get_resolver
from rest_framework.permissions import AllowAny
from rest_framework.views import APIView

OPEN = {"healthz", "sign-in"}


def _leaves(patterns):
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            yield pattern
        else:
            yield from _leaves(pattern.url_patterns)


def _asks_for_a_sign_in(view):
    """Tell whether the middleware, or for an endpoint its permissions, keep strangers out."""
    endpoint = getattr(view, "cls", None)
    if endpoint is not None and issubclass(endpoint, APIView):
        permissions = endpoint.permission_classes
        return bool(permissions) and AllowAny not in permissions
    return getattr(view, "login_required", True)


def test_every_address_asks_for_a_sign_in_but_the_open_ones():
    leaves = list(_leaves(get_resolver().url_patterns))

    answering = {leaf.name for leaf in leaves if not _asks_for_a_sign_in(leaf.callback)}

    assert answering <= OPEN
    assert "healthz" in answering


def test_the_middleware_that_asks_is_on_and_knows_the_user_by_then():
    middleware = settings.MIDDLEWARE
    asks = middleware.index("records.web.signing_in.AsksForSignIn")

    assert middleware.index("django.contrib.auth.middleware.AuthenticationMiddleware") < asks


@pytest.mark.django_db
def test_health_is_told_to_anyone(client):
    answer = client.get("/healthz")

    assert (answer.status_code, answer.content) == (200, b"ok\n")
    assert "default-src 'self'" in answer.headers["Content-Security-Policy"]


def test_health_says_when_the_database_is_away():
    ask = (
        "import django; django.setup(); from django.test import Client; "
        "answer = Client(SERVER_NAME='localhost').get('/healthz'); "
        "print(answer.status_code, answer.content.decode())"
    )

    done = subprocess.run(
        [sys.executable, "-c", ask],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "DATABASE_URL": "sqlite:////nowhere/legbook.sqlite3",
            "DJANGO_SETTINGS_MODULE": "records.settings",
        },
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.stdout.strip() == "503 the database does not answer"


def test_static_files_are_served_without_debug_and_without_a_sign_in(client):
    answer = client.get("/static/django_htmx/htmx-2.min.js")

    assert not settings.DEBUG
    assert answer.status_code == 200
    assert answer.getvalue().startswith(b"var htmx")
