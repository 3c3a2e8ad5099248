"""What the project imports, declares and pins is the same set of packages."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions, requires
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parents[2]
FACES_AND_FLOORS = ("records", "labels", "api")
OURS = {*FACES_AND_FLOORS, "tests", "manage"}
PROJECT = tomllib.loads((HOME / "pyproject.toml").read_text())["project"]
RUNTIME = PROJECT["dependencies"]
TEST = PROJECT["optional-dependencies"]["test"]


def _name(requirement):
    """Return a package's name in its one canonical spelling."""
    return re.sub(r"[-_.]+", "-", re.split(r"[^\w.-]", requirement, maxsplit=1)[0]).lower()


def _imported(*folders):
    """Return the canonical names of the packages that the files below the folders import."""
    modules = set()
    for folder in folders:
        for file in (HOME / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text())):
                if isinstance(node, ast.Import):
                    modules |= {alias.name.partition(".")[0] for alias in node.names}
                elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
                    modules.add(node.module.partition(".")[0])
    owners = packages_distributions()
    foreign = modules - set(sys.stdlib_module_names) - OURS
    return {_name(owner) for module in foreign for owner in owners.get(module, [module])}


def _pinned():
    lines = (HOME / "constraints.txt").read_text().splitlines()
    return {_name(line): line for line in lines if line and not line.startswith("#")}


def test_the_product_imports_only_what_it_declares():
    declared = {_name(requirement) for requirement in RUNTIME}

    assert _imported(*FACES_AND_FLOORS) <= declared


def test_the_tests_import_only_what_is_declared():
    declared = {_name(requirement) for requirement in [*RUNTIME, *TEST]}

    assert _imported("tests") <= declared


@pytest.mark.parametrize("requirement", [*RUNTIME, *TEST])
def test_each_dependency_is_pinned_with_all_it_needs(requirement):
    needed = [
        need.partition(";")[0] for need in requires(_name(requirement)) or [] if ";" not in need
    ]

    missing = {_name(need) for need in [requirement, *needed]} - set(_pinned())

    assert not missing


def test_pins_are_exact_versions_without_addresses():
    odd = [line for line in _pinned().values() if not re.fullmatch(r"[\w.-]+==[\w.]+", line)]

    assert not odd


def test_developers_gives_a_reason_for_each_dependency():
    text = (HOME / "DEVELOPERS.md").read_text().lower()

    assert [_name(package) for package in RUNTIME if _name(package) not in text] == []
