"""`manage.py catalogue` loads what is new, and nothing twice."""

import shutil

import pytest
from django.core.management import CommandError, call_command

from records.management.commands.catalogue import CATALOGUE
from records.models import CatalogueEntry, Change, EntryKind
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db


def _run(capsys, *arguments):
    call_command("catalogue", *map(str, arguments))
    return capsys.readouterr().out


def test_what_is_there_already_is_left_without_a_change(capsys):
    with nothing_written():
        said = _run(capsys)

    assert "The record has all of" in said


def test_what_is_new_is_loaded_in_one_change(tmp_path, capsys):
    folder = shutil.copytree(CATALOGUE, tmp_path / "catalogue")
    with (folder / "entries.csv").open("a") as file:
        file.write('attenuator,4 dB,1,1,"ours"\n')
    before = Change.objects.count()

    said = _run(capsys, "--from", folder)

    assert "Loaded 1 new catalogue rows" in said
    assert CatalogueEntry.objects.filter(kind=EntryKind.ATTENUATOR, name="4 dB").exists()
    assert Change.objects.count() == before + 1


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(CommandError, match=r"There is no .*classes.csv"):
        call_command("catalogue", "--from", str(tmp_path))
