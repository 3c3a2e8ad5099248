"""Nothing of the API answers without a sign-in but the sign-in itself."""

import re

import pytest
from django.test import Client
from django.urls import URLResolver, get_resolver

from tests.api.asking import told
from tests.factories import user

OPEN = {"/api/token/"}
PAGES = {"/api/docs/"}
_EXAMPLES = {"noun": "places", "code": "loop"}


def addresses(patterns=None, prefix="/"):
    """Yield every address under /api/, with examples for its variables."""
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        address = prefix + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from addresses(pattern.url_patterns, address)
        elif address.startswith("/api/"):
            yield re.sub(r"<\w+:(\w+)>", lambda found: _EXAMPLES.get(found[1], "1"), address)


ADDRESSES = sorted(set(addresses()) - OPEN - PAGES)


def test_the_walk_finds_the_whole_api():
    assert {"/api/", "/api/schema/", "/api/feeds/1/", "/api/history/places/1/"} <= set(ADDRESSES)
    assert len(ADDRESSES) > 70


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["get", "post", "put", "delete", "options"])
def test_no_endpoint_answers_a_stranger(method):
    for address in ADDRESSES:
        answer = getattr(Client(), method)(address)

        problem = told(answer, 401, "not_signed_in")
        assert answer.headers["WWW-Authenticate"] == "Token"
        assert problem["hint"]


@pytest.mark.django_db
def test_a_person_without_a_sign_in_is_led_from_the_docs_to_it():
    answer = Client().get("/api/docs/")

    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in")


@pytest.mark.django_db
def test_a_made_up_token_is_no_sign_in():
    answer = Client().get("/api/places/", headers={"Authorization": "Token 0123"})

    told(answer, 401, "not_signed_in")


def test_a_session_can_read_and_can_not_write_without_its_csrf_token(db, plant):
    browser = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    browser.force_login(user())

    assert browser.get("/api/places/").status_code == 200
    answer = browser.post(
        "/api/verbs/places/add/", {"kind": "estate", "name": "X"}, content_type="application/json"
    )
    told(answer, 403, "not_allowed")
