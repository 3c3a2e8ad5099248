"""`manage.py export`."""

import pytest
from django.core.management import CommandError, call_command

from records.changes import places
from records.models import Change
from tests.factories import Plant, opened

PLANT = "splitter S 1:4\n flat 1\n book S.3 for 1\n bar S.4 broken tail"


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def test_a_file_is_written_and_what_it_leaves_out_is_said(plant, tmp_path, capsys):
    path = tmp_path / "a b.csv"

    call_command("export", "Block A", addresses=True, output=path)

    assert b"Alder Close,Block A,,Flat 1,Riser,S,1:4,3" in path.read_bytes()
    said = capsys.readouterr().out
    assert "Not in it, barred legs: leg 4 of S (Riser): broken tail" in said
    assert f"manage.py intake '{path}' --splitter-polish APC" in said


def test_a_file_of_a_past_moment_goes_to_the_terminal(plant, capsys):
    number = Change.objects.latest("number").number
    with opened() as change:
        places.rename(change, plant.flat("1"), name="Loft")

    call_command("export", "Block A", what="homes", at=str(number), addresses=True, output="-")

    said = capsys.readouterr().out
    assert "Flat 1" in said
    assert "Loft" not in said


def test_a_place_that_is_not_there_is_said(plant):
    with pytest.raises(CommandError, match="No place is called 'Nowhere'"):
        call_command("export", "Nowhere")
    with pytest.raises(CommandError, match="future"):
        call_command("export", "Block A", at="2999-01-01")
