"""`manage.py retention` lists what has had its time, and cuts it out when told to."""

import pytest
from django.core.management import CommandError, call_command

from records.changes import lines
from records.models import Change, Line
from tests.factories import Plant, opened, user

pytestmark = pytest.mark.django_db


def run(capsys, *arguments):
    call_command("retention", *arguments)
    return capsys.readouterr().out


def test_it_lists_and_then_cuts_out_in_one_change(capsys):
    plant = Plant("flat 1")
    with opened() as change:
        lines.open(change, place=plant.flat("1"), outside_ref="Q-7")
    owner = user("owner")
    owner.is_superuser = True
    owner.save()

    assert "1 outside references" in run(capsys, "--before", "2026-03-03")
    assert Line.objects.filter(outside_ref="Q-7").exists()
    said = run(capsys, "--before", "2026-03-03", "--forget", "--user", "owner")

    assert "Cut out the outside reference of line" in said
    assert Change.objects.latest("number").reason == "retention time is over"
    assert not Line.objects.exclude(outside_ref="").exists()
    with pytest.raises(CommandError, match="Nothing from before then"):
        run(capsys, "--before", "2026-03-03", "--forget", "--user", "owner")


def test_only_an_owner_is_heard(capsys):
    user("left")

    with pytest.raises(CommandError, match="crew is none"):
        run(capsys, "--person", "left", "--user", user().username)
    with pytest.raises(CommandError, match="Give either"):
        run(capsys)
    with pytest.raises(CommandError, match="yet to come"):
        run(capsys, "--before", "2999-01-01")
