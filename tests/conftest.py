"""Fixtures shared by all tests. Plant is built in factories.py, by the verbs."""

import os
import shutil
from collections.abc import Callable
from typing import Any, TypeVar

import pytest
from django.conf import settings as django_settings
from django.db import connection
from django.test import TestCase
from hypothesis import HealthCheck, settings

from tests.factories import load_catalogue
from tests.guards import guards_off, guards_on, run_sql

T = TypeVar("T")

IN_CI = os.environ.get("CI") == "true"

# How long a random example takes depends on the machine, so time decides nothing.
settings.register_profile("fast", max_examples=25, stateful_step_count=20, deadline=None)
settings.register_profile(
    "ci",
    max_examples=100,
    stateful_step_count=30,
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci" if IN_CI else "fast"))


def require(present, what):
    """Go on if `present`; else skip and say what is missing, or fail where CI promised it."""
    if not present:
        (pytest.fail if IN_CI else pytest.skip)(f"{what} is missing on this machine")


@pytest.fixture(scope="session")
def chromium():
    """Return the path of a Chromium for the browser tests."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    require(found, "chromium")
    return found


@pytest.fixture
def only_postgresql():
    """For a test about PostgreSQL itself: it is left out of the run on SQLite."""
    if connection.vendor != "postgresql":
        pytest.skip("about PostgreSQL only")


@pytest.fixture
def only_sqlite():
    """For a test about SQLite itself: it is left out of the run on PostgreSQL."""
    if connection.vendor != "sqlite":
        pytest.skip("about SQLite only")


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix, tmp_path_factory):
    """Test SQLite as it runs, in a file: other processes and the live server's threads see it."""
    database = django_settings.DATABASES["default"]
    if database["ENGINE"].endswith("sqlite3"):
        database.setdefault("TEST", {})["NAME"] = tmp_path_factory.mktemp("db") / "test.sqlite3"


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """Start every test from the standards catalogue and nothing else."""
    with django_db_blocker.unblock():
        load_catalogue()
        flush = connection.ops.execute_sql_flush
        patched: Any = connection.ops
        patched.execute_sql_flush = lambda statements: _flush_and_start_anew(flush, statements)
    yield
    with django_db_blocker.unblock():
        _end_other_sessions()


@pytest.fixture(scope="module")
def once(django_db_setup, django_db_blocker):
    """Return what builds a thing once for all tests of a module; each is rolled back to it.

    Not for a module that asks for transactional_db or live_server.
    """
    with django_db_blocker.unblock():
        atomics = TestCase._enter_atomics()  # type: ignore[attr-defined]

    def build(make: Callable[[], T]) -> T:
        with django_db_blocker.unblock():
            return make()

    yield build
    with django_db_blocker.unblock():
        TestCase._rollback_atomics(atomics)  # type: ignore[attr-defined]


def _end_other_sessions():
    """End what threads of a live server left open, or PostgreSQL won't drop the database."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                """SELECT pg_terminate_backend(pid) FROM pg_stat_activity
                   WHERE datname = current_database() AND pid <> pg_backend_pid()"""
            )


def _flush_and_start_anew(flush, statements):
    """Empty tables that refuse to be emptied, after a test whose changes were committed.

    Such are the tests that ask for transactional_db or live_server.
    """
    run_sql(guards_off())
    flush(statements)
    run_sql(guards_on())
    load_catalogue()
