"""`python3 manage.py demo`: build the invented estate Alder Court, and serve it."""

import os
import random
import socket
import time
from argparse import ArgumentTypeError, BooleanOptionalAction
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.servers.basehttp import get_internal_wsgi_application
from django.core.servers.basehttp import run as serve
from django.db import connection
from django.utils import timezone

from records.intake import scenario
from records.intake.scenario import Standing
from records.management.demo_labels import DemoPrinter
from records.models.tag_code import NUMBER_COUNT, candidate

ADDRESS = "127.0.0.1"
"""This machine only: the password is known to everyone."""

USERNAME = "demo"
PASSWORD = "never-look-into-a-fibre"  # noqa: S105 (invented, and printed)
FIXTURES = settings.BASE_DIR / "fixtures"
SEED = 1948
PORT_MAX = 65_535
"""The highest number of a port. Source: RFC 9293, section 3.1 (16 bits)."""


class Command(BaseCommand):
    """Build the demo in an empty database, then serve it on this machine."""

    help = (
        "Build an invented estate in an empty database, and serve it on this machine. "
        "A database that holds anything else is left alone."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the port, and whether to build anew and to serve."""
        parser.add_argument("--port", type=_port, default=8000)
        parser.add_argument("--serve", action=BooleanOptionalAction, default=True)
        parser.add_argument("--reset", action="store_true", help="build the demo anew")

    def handle(self, *_args: Any, port: int, serve: bool, reset: bool, **_options: Any) -> None:
        """Build unless it is there, tell how to sign in and what to try, and serve."""
        if serve:
            _refuse_busy(port)
        if "LEGBOOK_HOST" not in os.environ:
            # Labels lead to where the demo is served, whatever its port.
            settings.LEGBOOK_HOST = f"{ADDRESS}:{port}"
        found = scenario.standing(USERNAME)
        if found is Standing.OTHER:
            raise CommandError(
                "This database holds a record that is not the demo, so it is left alone. "
                "Give the demo one of its own: "
                "DATABASE_URL=sqlite:///demo.sqlite3 python3 manage.py demo"
            )
        if found is Standing.SHARED_DEMO and reset:
            raise CommandError(
                "Others have accounts in this demo, so it is not thrown away. Build another: "
                "DATABASE_URL=sqlite:///another.sqlite3 python3 manage.py demo"
            )
        if found is Standing.HALF_A_DEMO or (found is Standing.DEMO and reset):
            _throw_away()
            found = Standing.EMPTY
        call_command("migrate", verbosity=0)
        user = _user()
        if found is Standing.EMPTY:
            self._build(user)
        self._welcome(port, is_served=serve)
        if serve:
            self._serve(port)

    def _build(self, user: Any) -> None:
        began = time.monotonic()
        self.stdout.write("Building Alder Court, an invented estate (some seconds) ...")
        scenario.build(
            actor=user,
            at=timezone.now(),
            printer=DemoPrinter(tag_codes()),
            fixtures=FIXTURES,
            told=lambda chapter: self.stdout.write(f"  {chapter}"),
        )
        self.stdout.write(f"Built in {time.monotonic() - began:.0f} s.")

    def _welcome(self, port: int, *, is_served: bool) -> None:
        address = self.style.SUCCESS(f"http://{ADDRESS}:{port}/")
        where = (
            f"Legbook's demo is at {address}" if is_served else "The demo is built, not served."
        )
        tries = (f"  - {each.do}: {each.see}" for each in scenario.what_to_try(FIXTURES))
        self.stdout.write(
            "\n".join(
                [
                    "",
                    where,
                    f"Sign in as {USERNAME} with the password {PASSWORD}",
                    "All of it is invented. What to try:",
                    *tries,
                    "",
                ]
            )
        )

    def _serve(self, port: int) -> None:
        """Serve until stopped. Static files come from whitenoise, DEBUG or not."""
        self.stdout.write("Ctrl+C stops it.")
        try:
            serve(ADDRESS, port, get_internal_wsgi_application(), threading=True)
        except OSError as error:
            raise CommandError(_busy(port)) from error
        except KeyboardInterrupt:
            self.stdout.write("\nStopped. The same command serves it again.")


def _throw_away() -> None:
    """Delete the database file of a demo: history can't be deleted row by row."""
    if connection.vendor != "sqlite":
        raise CommandError(
            "A demo on PostgreSQL is built anew in a new database: drop this one, create it again."
        )
    path = Path(connection.settings_dict["NAME"])
    connection.close()
    for suffix in ("", "-wal", "-shm"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)


def _port(text: str) -> int:
    """Return the number of a port. Raises: ArgumentTypeError."""
    if not text.isdecimal() or not 1 <= int(text) <= PORT_MAX:
        raise ArgumentTypeError(f"'{text}' is no port; give a whole number from 1 to {PORT_MAX}")
    return int(text)


def _refuse_busy(port: int) -> None:
    """Find out before building that the port can't be had. Raises: CommandError."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ADDRESS, port))
        except OSError as error:
            raise CommandError(_busy(port)) from error


def _busy(port: int) -> str:
    return (
        f"Port {port} of this machine is taken or may not be used. "
        f"Choose another: python3 manage.py demo --port {8001 if port == 8000 else 8000}"  # noqa: PLR2004
    )


def _user() -> Any:
    """Return the demo's user, an owner, who can sign in with the printed password."""
    user, _ = get_user_model().objects.get_or_create(username=USERNAME)
    if not user.check_password(PASSWORD) or not user.is_superuser:
        user.is_superuser = True
        user.set_password(PASSWORD)
        user.save()
    return user


def tag_codes() -> Iterator[str]:
    """Yield tag codes, the same at each building, so that printed sheets stay right."""
    numbers = random.Random(SEED)  # noqa: S311 (no secret)
    while True:
        code = candidate(numbers.randrange(NUMBER_COUNT))
        if code:
            yield code
