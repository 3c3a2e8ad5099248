"""A PostgreSQL that lives as long as a test run.

Its data stands in a temporary folder and is reached by a socket in that folder, so that neither a
port nor a running server is touched. Nothing is flushed to disk: a crash would lose it, and it is
lost anyway.
"""

import os
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

INITDB_OPTIONS = (
    "--username=legbook",
    "--auth=trust",  # only its own user reaches the folder of the socket
    "--encoding=UTF8",
    "--locale=C.UTF-8",
    "--no-sync",
)
SERVER_OPTIONS = (
    "-c listen_addresses='' -c max_connections=200 -c fsync=off -c synchronous_commit=off "
    "-c full_page_writes=off -c shared_buffers=256MB"
)


class PostgresFailedError(Exception):
    """A PostgreSQL is installed but could not be started; the text says what it said."""


def find_postgres_programs() -> Path | None:
    """Return the folder of `initdb` and `pg_ctl`: that on PATH, else the newest Debian knows."""
    folders = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"),
        key=lambda folder: int(folder.parent.name) if folder.parent.name.isdigit() else 0,
        reverse=True,
    )
    on_path = shutil.which("pg_ctl")
    if on_path:
        folders.insert(0, Path(on_path).resolve().parent)
    for folder in folders:
        if (folder / "initdb").exists() and (folder / "pg_ctl").exists():
            return folder
    return None


@contextmanager
def throwaway_postgres(programs: Path) -> Iterator[str]:
    """Start a fresh PostgreSQL, yield the URL of its database, then stop and delete it.

    Run by root, it belongs to the user `postgres`, since the server refuses to run as root.

    Raises: PostgresFailedError.
    """
    with TemporaryDirectory(prefix="legbook-postgres-", ignore_cleanup_errors=True) as name:
        home = Path(name)
        data = home / "data"
        as_user = _as_postgres_user(home)
        initdb = [*as_user, f"{programs}/initdb", f"--pgdata={data}", *INITDB_OPTIONS]
        pg_ctl = [*as_user, f"{programs}/pg_ctl", f"--pgdata={data}", "--wait", "--silent"]
        options = f"{SERVER_OPTIONS} -k {home}"
        _run(initdb, "set up")
        _run(
            [*pg_ctl, f"--log={home}/log", f"--options={options}", "start"],
            "start",
            log=home / "log",
        )
        try:
            yield f"postgresql://legbook@{quote(name, safe='')}/postgres"
        finally:
            _run([*pg_ctl, "--mode=immediate", "stop"], "stop")


def _as_postgres_user(home: Path) -> list[str]:
    """Return how to start a program that may write to `home`; give `home` to `postgres` for it."""
    if os.geteuid() != 0:
        return []
    try:
        shutil.chown(home, "postgres", "postgres")
    except LookupError as error:
        raise PostgresFailedError(
            "it refuses to run as root, and there is no user `postgres` to run it as"
        ) from error
    if shutil.which("runuser"):
        return ["runuser", "-u", "postgres", "--"]
    return ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", "--"]


def _run(command: Sequence[str], doing: str, log: Path | None = None) -> None:
    """Run a program; on failure raise with what it said, or with what it wrote to `log`.

    A server keeps the streams it is started with; a pipe to this process would never end.
    """
    streams = subprocess.DEVNULL if log else subprocess.PIPE
    done = subprocess.run(
        command, cwd="/", stdin=subprocess.DEVNULL, stdout=streams, stderr=streams, check=False
    )
    if done.returncode:
        said = log.read_text() if log and log.exists() else (done.stderr or b"").decode()
        raise PostgresFailedError(f"it would not {doing}: {said.strip()}")
