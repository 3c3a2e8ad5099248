"""Fixtures shared by all tests. Plant is built in factories.py, by the verbs."""

import os
import shutil

import pytest
from django.db import connection
from hypothesis import HealthCheck, settings

IN_CI = os.environ.get("CI") == "true"

# How long a random example takes depends on the machine, so time decides nothing.
settings.register_profile("fast", max_examples=25, stateful_step_count=20, deadline=None)
settings.register_profile(
    "ci",
    max_examples=100,
    stateful_step_count=40,
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
