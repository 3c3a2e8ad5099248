"""README's commands do what it says, also where something is missing."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import manage

HOME = Path(__file__).resolve().parents[2]


@pytest.fixture
def fresh_folder(tmp_path):
    """Return a folder with what manage.py needs to install the rest, and no more."""
    for name in ["manage.py", "pyproject.toml", "constraints.txt"]:
        shutil.copy(HOME / name, tmp_path)
    return tmp_path


@pytest.fixture
def stamped(fresh_folder, monkeypatch):
    """Point manage.py at a folder whose environment was filled for a plain command."""
    monkeypatch.setattr(manage, "PROJECT", fresh_folder / "pyproject.toml")
    monkeypatch.setattr(manage, "CONSTRAINTS", fresh_folder / "constraints.txt")
    monkeypatch.setattr(manage, "STAMP", fresh_folder / "installed-pins")
    manage.STAMP.write_text(manage._digest())


def _python_without_packages():
    """Return the Python that the running environment was made from."""
    return Path(sys.base_prefix) / "bin" / "python3"


def test_an_installation_is_current_until_a_pin_changes(stamped):
    assert manage._is_current("")

    manage.CONSTRAINTS.write_text("Django==5.2.20\n")

    assert not manage._is_current("")


def test_the_test_command_asks_for_more_than_was_installed(stamped):
    assert not manage._is_current("test")

    manage.STAMP.write_text(f"{manage._digest()} test")

    assert manage._is_current("test")
    assert manage._is_current("")


def test_without_a_package_index_it_says_what_it_needs(fresh_folder):
    unreachable = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": ""}

    done = subprocess.run(
        [_python_without_packages(), "manage.py", "demo"],
        cwd=fresh_folder,
        env={**os.environ, **unreachable},
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert "Installing Legbook's dependencies" in done.stdout
    assert "could not be installed" in done.stderr
    assert "needs a network" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_promised_postgresql_that_does_not_answer_fails_the_run():
    nowhere = {"LEGBOOK_TEST_POSTGRES": "postgresql://legbook@localhost:1/legbook"}

    done = subprocess.run(
        [sys.executable, "manage.py", "test", "--collect-only", "-q", "tests/docs/test_readme.py"],
        cwd=HOME,
        env={**os.environ, **nowhere},
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert "PostgreSQL was NOT tested" in done.stdout
