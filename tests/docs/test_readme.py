"""What README.md tells a newcomer to type exists."""

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

HOME = Path(__file__).resolve().parents[2]
PAGES = ["README.md", "DEVELOPERS.md"]


def _text(page):
    return (HOME / page).read_text()


@pytest.mark.parametrize("command", ["demo", "test"])
def test_readme_names_the_two_commands(command):
    assert f"python3 manage.py {command}" in _text("README.md")


@pytest.mark.parametrize("page", PAGES)
def test_each_command_that_a_page_names_exists(page):
    named = set(re.findall(r"manage\.py ([a-z_]+)", _text(page)))

    assert named <= set(get_commands())


@pytest.mark.parametrize("page", PAGES)
def test_each_file_that_a_page_points_to_exists(page):
    pointed = re.findall(r"\]\((?!https?:|#|mailto:)([^)#\s]+)", _text(page))

    assert [target for target in pointed if not (HOME / target).exists()] == []
