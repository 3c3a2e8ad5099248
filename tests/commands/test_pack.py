"""`manage.py pack` writes the as-built pack of a place."""

import pytest
from django.core.management import CommandError, call_command

from records.changes import bookings
from records.models import Change
from tests.factories import Plant, opened
from tests.handover.packs import whole
from tests.unchanged import nothing_written
from tests.web.reading import PLANT

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant():
    return Plant(PLANT)


def test_the_pack_of_a_place_by_its_name_is_written_as_it_stood(plant, tmp_path, capsys):
    number = Change.objects.latest("number").number
    with opened() as change:
        bookings.bar(change, plant["V.1"], why="bent")
    file = tmp_path / "block-a.pdf"

    with nothing_written():
        call_command("pack", "Block A", "--at", str(number), "--addresses", "--output", str(file))

    assert f"Wrote {file}." in capsys.readouterr().out
    assert f"after change {number}" in whole(file.read_bytes())
    assert "bent" not in whole(file.read_bytes())


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("Nowhere",), "No place is called 'Nowhere'."),
        (("Block A", "--at", "9999"), "There is no change 9999."),
        (("Block A", "--for", "Zoe"), "give --addresses as well"),
        (("Block A", "--output", "/nowhere/at/all.pdf"), "/nowhere/at/all.pdf can't be written"),
    ],
)
def test_what_can_not_be_done_is_said(plant, arguments, said):
    with pytest.raises(CommandError, match=said):
        call_command("pack", *arguments)
