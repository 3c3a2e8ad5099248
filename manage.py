#!/usr/bin/env python3
"""Run a Legbook command: `python3 manage.py demo`, `python3 manage.py test`, `... help`.

On a fresh machine this needs nothing but Python 3.11 or later and a network: it makes a virtual
environment `.venv` beside itself, installs what pyproject.toml names in the versions that
constraints.txt pins, and goes on in there. Under a Python that has all of it already, it just
goes on.
"""

# Kept readable for an older Python, so that it gets as far as being told what it lacks.
from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, distribution
from importlib.util import find_spec
from pathlib import Path

HOME = Path(__file__).resolve().parent
PROJECT = HOME / "pyproject.toml"
CONSTRAINTS = HOME / "constraints.txt"
VENV = HOME / ".venv"
VENV_PYTHON = VENV / "bin" / "python"
# What is installed in .venv: the digest of both files above, then the extra, if any.
STAMP = VENV / "installed-pins"


def main() -> None:
    """Make sure that everything the command needs is installed, then run it."""
    if sys.version_info < (3, 11):
        sys.exit(
            f"Legbook needs Python 3.11 or later; this is {sys.version.split()[0]}. "
            "Install a later one and run it by name, for example: python3.11 manage.py demo"
        )
    extra = "test" if sys.argv[1:2] == ["test"] else ""
    requirements = _requirements(extra)
    if not _all_present(requirements):
        is_inside = VENV.exists() and VENV.samefile(sys.prefix)
        if is_inside or not _is_current(extra):
            _install(requirements, extra)
        if not is_inside:
            # The same command again, under the Python of .venv, which takes over this process.
            os.execv(VENV_PYTHON, [str(VENV_PYTHON), __file__, *sys.argv[1:]])  # noqa: S606 - ours
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - installed now

    execute_from_command_line(sys.argv)


def _requirements(extra: str) -> list[str]:
    """Return what pyproject.toml asks for: the dependencies, and those of the extra."""
    import tomllib  # noqa: PLC0415 - new in Python 3.11, which main() has made sure of

    project = tomllib.loads(PROJECT.read_text())["project"]
    further = project["optional-dependencies"][extra] if extra else []
    return [*project["dependencies"], *further]


def _all_present(requirements: list[str]) -> bool:
    """Tell whether this Python has each package; versions are not looked at."""
    for requirement in requirements:
        name = re.split(r"[^\w.-]", requirement, maxsplit=1)[0]
        try:
            distribution(name)
        except PackageNotFoundError:
            return False
    return True


def _digest() -> str:
    return hashlib.sha256(PROJECT.read_bytes() + CONSTRAINTS.read_bytes()).hexdigest()


def _is_current(extra: str) -> bool:
    """Tell whether .venv was last filled from the files as they are, the extra included."""
    if not STAMP.exists():
        return False
    installed_digest, *installed_extras = STAMP.read_text().split()
    return installed_digest == _digest() and (not extra or extra in installed_extras)


def _install(requirements: list[str], extra: str) -> None:
    """Fill .venv with the requirements, in the pinned versions.

    The stamp is written last: an installation that was cut off is begun again.
    """
    print(f"Installing Legbook's dependencies into {VENV} (once, a minute or so) ...", flush=True)
    if not (VENV / "bin" / "pip").exists():
        if find_spec("ensurepip") is None or find_spec("venv") is None:
            sys.exit(
                "This Python can't make a virtual environment: its venv module is missing. "
                "On Debian or Ubuntu: apt install python3-venv"
            )
        _run(
            [sys.executable, "-m", "venv", "--clear", str(VENV)],
            f"The virtual environment could not be made in {VENV}: see the lines above.",
        )
    STAMP.unlink(missing_ok=True)
    pip = [str(VENV_PYTHON), "-m", "pip", "--quiet", "--disable-pip-version-check"]
    _run(
        [*pip, "install", "--constraint", str(CONSTRAINTS), *requirements],
        "The dependencies could not be installed: the lines above say why. "
        "It needs a network that reaches the Python package index; then run the same command.",
    )
    STAMP.write_text(f"{_digest()} {extra}\n")


def _run(command: list[str], failure: str) -> None:
    try:
        subprocess.run(command, check=True)
    except (subprocess.CalledProcessError, OSError):
        sys.exit(failure)


if __name__ == "__main__":
    main()
