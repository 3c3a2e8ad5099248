"""While another change holds the record, what is written beside it is told to wait, not failed."""

import sqlite3
from contextlib import contextmanager

import pytest
from django.db import OperationalError, connection
from django.test import Client

from records.changes import is_lock
from tests.factories import user

PASSWORD = "never look into a fibre"

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("only_sqlite")]


@contextmanager
def held():
    """Hold the one writer's lock of the file, from outside; waits are cut short."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 50")
    other = sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.execute("ROLLBACK")
        other.close()


@pytest.fixture
def ann():
    person = user("ann")
    person.set_password(PASSWORD)
    person.save()
    return person


@pytest.mark.parametrize("password", [PASSWORD, "wrong"])
def test_signing_in_is_told_to_wait(ann, password):
    stranger = Client(raise_request_exception=False)
    with held():
        answer = stranger.post("/sign-in", {"username": "ann", "password": password})

    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert "The record is busy with another change." in answer.content.decode()
    assert "Wait a moment and try again." in answer.content.decode()


def test_signing_out_is_told_to_wait_and_reading_goes_on(ann):
    crew = Client(raise_request_exception=False)
    crew.force_login(ann)
    with held():
        assert crew.post("/sign-out").status_code == 503
        assert crew.get("/").status_code == 200


def test_an_owner_who_settles_labels_is_told_to_wait(ann):
    crew = Client(raise_request_exception=False)
    crew.force_login(ann)
    offset = {"nudge": "on", "printer": "office", "stock": "A4-4x10", "right_mm": 1, "down_mm": 0}
    with held():
        answer = crew.post("/labels/stock", offset)

    assert answer.status_code == 503
    assert "The record is busy with another change." in answer.content.decode()


def test_a_token_is_told_to_wait_as_a_problem(ann):
    with held():
        answer = Client(raise_request_exception=False).post(
            "/api/token/", {"username": "ann", "password": PASSWORD}, "application/json"
        )

    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["code"] == "busy"
    assert answer.json()["detail"] == "The record is busy with another change."


def test_another_fault_is_still_a_fault(ann, monkeypatch):
    monkeypatch.setattr("records.web.home.children", lambda _place: 1 / 0)
    crew = Client(raise_request_exception=False)
    crew.force_login(ann)

    assert crew.get("/").status_code == 500


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("database is locked", True),
        ("database table is locked: records_change", True),
        ("canceling statement due to lock timeout", True),
        ("deadlock detected", True),
        ('could not read block 7 in file "base/5/16403": I/O error', False),
        ("too many clients already", False),
    ],
)
def test_only_a_wait_for_another_is_one(words, expected):
    """The words are those of SQLite's result codes and of PostgreSQL's error messages."""
    assert is_lock(OperationalError(words)) is expected
