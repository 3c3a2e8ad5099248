"""`python3 manage.py test [pytest arguments]`: the tests on SQLite, then on PostgreSQL.

A PostgreSQL is found in LEGBOOK_TEST_POSTGRES (a URL of a server that may be written to), or by
its programs `initdb` and `pg_ctl`, with which one is started for the run. Without either the tests
run on SQLite alone, and the last line says so. Where CI=true, or where a URL was given, that is a
failure.
"""

import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from sqlite3 import sqlite_version
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree as ET

import psycopg
from django.conf import settings
from django.core.management.base import BaseCommand

from records.management.throwaway_postgres import (
    PostgresFailedError,
    find_postgres_programs,
    throwaway_postgres,
)

# Pure, or about documents: no database, so once is enough.
ONCE_ONLY = ("tests/optics", "tests/light", "tests/docs", "records/optics")
SQLITE_URL = "sqlite:///legbook.sqlite3"  # names the engine; the tests use one in memory
NOTHING_COLLECTED = 5  # pytest's exit code


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One run of pytest: on what, with which outcome, for how long."""

    engine: str
    exit_code: int
    counts: str
    duration_s: float

    def __str__(self) -> str:
        verdict = "ok" if self.exit_code == 0 else f"FAILED (pytest said {self.exit_code})"
        return f"{self.engine}: {verdict}, {self.counts}, {self.duration_s:.0f} s"


class Command(BaseCommand):
    """Run the tests on SQLite and PostgreSQL; every argument goes to pytest."""

    help = __doc__
    requires_system_checks: list[str] = []

    def run_from_argv(self, argv: list[str]) -> None:
        """Take the arguments as they are: they are pytest's, not Django's."""
        if {"-h", "--help"} & set(argv):
            super().run_from_argv(argv)
        else:
            self.handle(arguments=argv[2:])

    def handle(self, *, arguments: Sequence[str] = (), **_options: Any) -> None:
        """Run, say at the end what ran on what, and leave with a code that tells the outcome."""
        runs = [_run_pytest(f"SQLite {sqlite_version}", SQLITE_URL, arguments)]
        fault = ""
        try:
            with _postgres() as url:
                if url:
                    engine = f"PostgreSQL {_server_version(url)}"
                    runs.append(_run_pytest(engine, url, arguments, leave_out=ONCE_ONLY))
                else:
                    fault = "none found; install it, or set LEGBOOK_TEST_POSTGRES"
        except (PostgresFailedError, psycopg.OperationalError) as error:
            fault = str(error)
        self.stdout.write("\n".join(["", "What ran:", *map(str, runs)]))
        if fault:
            self.stdout.write(f"PostgreSQL was NOT tested: {fault}")
        is_promised = os.environ.get("CI") == "true" or "LEGBOOK_TEST_POSTGRES" in os.environ
        if any(run.exit_code for run in runs) or (fault and is_promised):
            sys.exit(1)


def _run_pytest(
    engine: str, url: str, arguments: Sequence[str], *, leave_out: Sequence[str] = ()
) -> Run:
    print(f"\n== {engine} ==", flush=True)
    started = time.monotonic()
    # Starting workers pays for the whole suite, not for a few chosen tests.
    spread = [] if arguments else ["-n", "auto", "--maxprocesses", "4"]
    ignored = [f"--ignore={path}" for path in leave_out]
    with TemporaryDirectory(prefix="legbook-tests-") as folder:
        report = Path(folder) / "report.xml"
        pytest = [sys.executable, "-m", "pytest", f"--junit-xml={report}"]
        done = subprocess.run(
            [*pytest, *spread, *ignored, *arguments],
            cwd=settings.BASE_DIR,
            env={**os.environ, "DATABASE_URL": url},
            check=False,
        )
        counts = _counts(report)
    # The arguments may choose nothing but tests that this run leaves out.
    nothing_to_do = done.returncode == NOTHING_COLLECTED and arguments and leave_out
    return Run(
        engine=engine,
        exit_code=0 if nothing_to_do else done.returncode,
        counts=counts,
        duration_s=time.monotonic() - started,
    )


def _counts(report: Path) -> str:
    """Return pytest's counts in words, skipped tests named as such."""
    if not report.exists():
        return "no report"
    suite = ET.parse(report).getroot().find("testsuite")  # noqa: S314 - pytest's own
    if suite is None:
        return "an empty report"
    tests, failed, errors, skipped = (
        int(suite.get(name, "0")) for name in ("tests", "failures", "errors", "skipped")
    )
    return f"{tests} tests: {failed} failed, {errors} in error, {skipped} skipped"


def _server_version(url: str) -> str:
    with psycopg.connect(url) as connection:
        return (connection.info.parameter_status("server_version") or "?").partition(" ")[0]


@contextmanager
def _postgres() -> Iterator[str]:
    """Yield the URL of a PostgreSQL to test on; an empty one when there is none."""
    given = os.environ.get("LEGBOOK_TEST_POSTGRES")
    programs = find_postgres_programs()
    if given or not programs:
        yield given or ""
    else:
        with throwaway_postgres(programs) as url:
            yield url
