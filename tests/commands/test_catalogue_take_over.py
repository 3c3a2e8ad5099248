"""`manage.py catalogue_take_over` moves plant to new versions, and goes on where it stopped."""

import pytest
from django.core.management import call_command

from records.changes import catalogue
from records.queries.take_overs import progress
from tests.changes.test_catalogue import BETTER_BY_4, PLANT, supersede
from tests.factories import Plant, entry, opened

pytestmark = pytest.mark.django_db


def run(capsys, *arguments):
    call_command("catalogue_take_over", *arguments)
    return capsys.readouterr().out


@pytest.fixture
def begun():
    Plant(PLANT)
    return supersede(entry("splitter", "1:4"), BETTER_BY_4)


def test_all_is_moved_with_progress_told(begun, capsys):
    said = run(capsys, "--trees", "1")

    assert progress(begun).is_done
    assert "1:4 version 2 takes over from 1: 6 of 6 moved (100 %)" in said
    assert len(said.splitlines()) > 1


def test_what_was_stopped_goes_on(begun, capsys):
    with opened() as change:
        moved = catalogue.take_over(change, begun.pk, trees=1)

    listed = run(capsys, "--list")
    run(capsys)

    assert f"{moved} of 6 moved" in listed
    assert progress(begun).is_done


def test_with_nothing_to_do_it_says_so(capsys):
    assert "Nothing is to be taken over." in run(capsys)
