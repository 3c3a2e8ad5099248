"""`manage.py demo` builds in an empty database, serves, and leaves all others alone."""

import json
import os
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import closing

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command

from records.intake.scenario import Standing, standing
from records.management.commands.demo import PASSWORD, USERNAME
from records.models import Change
from tests.factories import user
from tests.unchanged import nothing_written

DEADLINE_S = 120

# On one worker, so that the demo is built once.
pytestmark = pytest.mark.xdist_group("demo")


def _environment(path):
    return {**os.environ, "DATABASE_URL": f"sqlite:///{path}", "DEBUG": "false"}


def _manage(path, *arguments):
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=settings.BASE_DIR,
        env=_environment(path),
        capture_output=True,
        text=True,
        timeout=DEADLINE_S,
        check=False,
    )


def _free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Build the demo with the command itself, in a database of its own."""
    path = tmp_path_factory.mktemp("demo") / "demo.sqlite3"
    done = _manage(path, "demo", "--no-serve", "--port", "8123")
    assert done.returncode == 0, done.stderr
    return path, done.stdout


@pytest.mark.django_db
def test_a_database_that_holds_anything_else_is_left_alone():
    user("anna")

    with nothing_written(), pytest.raises(CommandError, match="left alone"):
        call_command("demo", "--no-serve", "--reset")

    assert not get_user_model().objects.filter(username=USERNAME).exists()


@pytest.mark.django_db
def test_a_record_of_a_user_of_that_name_is_not_taken_for_the_demo():
    assert Change.objects.exists()
    get_user_model().objects.update(username=USERNAME)

    assert standing(USERNAME) is Standing.OTHER


def test_its_labels_lead_to_the_port_that_it_is_served_on(built):
    path, _said = built

    with closing(sqlite3.connect(path)) as database:
        rules = [
            json.loads(row[0]) for row in database.execute("SELECT rules FROM records_printrun")
        ]

    assert {(each["host"], each["has_https"]) for each in rules} == {("127.0.0.1:8123", False)}


def test_it_prints_who_signs_in_and_seven_things_to_try(built):
    _, said = built

    assert f"Sign in as {USERNAME} with the password {PASSWORD}" in said
    assert said.count("\n  - ") == 7


def _times(path):
    """Return when the first change of a record was made, and how many there are."""
    with closing(sqlite3.connect(path)) as database:
        return database.execute("SELECT MIN(at), COUNT(*) FROM records_change").fetchone()


def test_reset_builds_it_anew(tmp_path, built):
    path = shutil.copy(built[0], tmp_path / "demo.sqlite3")
    began, count = _times(path)

    done = _manage(path, "demo", "--no-serve", "--reset")

    assert "Built in" in done.stdout, done.stderr
    assert _times(path)[0] > began
    assert _times(path)[1] == count


def test_a_demo_in_which_others_have_accounts_is_served_and_never_thrown_away(tmp_path, built):
    path = shutil.copy(built[0], tmp_path / "demo.sqlite3")
    with closing(sqlite3.connect(path)) as database:
        database.execute(
            "INSERT INTO auth_user (username, password, is_superuser, is_staff, is_active,"
            " first_name, last_name, email, date_joined)"
            " VALUES ('anna', '!', 0, 0, 1, '', '', '', '2026-03-02')"
        )
        database.commit()
    before = _times(path)

    again = _manage(path, "demo", "--no-serve")
    reset = _manage(path, "demo", "--no-serve", "--reset")

    assert again.returncode == 0, again.stderr
    assert "Others have accounts in this demo" in reset.stderr
    assert _times(path) == before


def test_run_again_it_serves_what_is_there_with_debug_off(built):
    path, _ = built
    before = _times(path)
    port = _free_port()
    server = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", str(port)],
        cwd=settings.BASE_DIR,
        env=_environment(path),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        assert _get(port, "/healthz") == b"ok\n"
        page = _get(port, "/sign-in?next=/")
        assert b"<form" in page
        assert _get(port, "/static/records/legbook.css")
        busy = _manage(path, "demo", "--port", str(port))
        assert busy.returncode == 1
        assert f"Port {port} of this machine is taken" in busy.stderr
        assert _times(path) == before
    finally:
        server.terminate()
        server.wait(DEADLINE_S)


@pytest.mark.parametrize("port", ["99999", "0", "x"])
def test_what_is_no_port_is_said_to_be_none(port):
    with pytest.raises(CommandError, match=f"'{port}' is no port; give a whole number from 1 to"):
        call_command("demo", "--port", port)


def _get(port, address):
    """Return a page, waiting for the server to come up."""
    limit = time.monotonic() + DEADLINE_S
    while True:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}{address}") as answer:
                return answer.read()
        except urllib.error.URLError as error:
            if isinstance(error, urllib.error.HTTPError) or time.monotonic() > limit:
                raise
            time.sleep(0.1)


@pytest.mark.django_db
def test_the_printed_password_is_that_of_an_owner(monkeypatch):
    monkeypatch.setattr("records.intake.scenario.standing", lambda _username: Standing.DEMO)

    call_command("demo", "--no-serve")

    found = get_user_model().objects.get(username=USERNAME)
    assert found.check_password(PASSWORD)
    assert found.is_superuser
    assert not found.is_staff
