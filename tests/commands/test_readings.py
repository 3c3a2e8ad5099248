"""`manage.py readings` shows what a meter's file says, and records it only when told."""

import pytest
from django.core.management import CommandError, call_command

from records.models import Change, Reading
from tests.factories import Plant, user
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

HEADER = "Where,Wavelength,Level,Time"


@pytest.fixture
def plant():
    return Plant("olt O\nsplitter S 1:4\ncable F 9 m\nlight O.1 GPON B+\nO.1 = F.1 = S")


@pytest.fixture
def file(tmp_path):
    def write(*rows):
        path = tmp_path / "round.csv"
        path.write_text("\n".join([HEADER, *rows]))
        return path

    return write


def run(capsys, *arguments):
    call_command("readings", *map(str, arguments))
    return capsys.readouterr().out


def test_readings_are_shown_with_their_verdict_and_not_written(plant, file, capsys):
    path = file("leg 3 of S,1490,-30,2026-03-02 09:00")

    with nothing_written():
        said = run(capsys, path)

    assert "leg 3 of S (Alder Close, Block A, Riser)  1490 down  -30.00 dBm  low" in said
    assert "Sound. Nothing was written; record it with --commit." in said


def test_with_commit_they_are_recorded_as_one_change_of_the_user(plant, file, capsys):
    user("anna")
    path = file("leg 3 of S,1490,-8,2026-03-02 09:00", "leg 4 of S,1490,no light,2026-03-02 09:01")

    said = run(capsys, path, "--commit", "--user", "anna")

    change = Change.objects.latest("number")
    assert f"Recorded as change {change.number}." in said
    assert (change.actor.username, change.reason) == ("anna", "Readings from round.csv")
    assert {each.taken_by.username for each in Reading.objects.all()} == {"anna"}
    assert "nothing to do" in run(capsys, path, "--commit", "--user", "anna")


def test_faults_are_shown_in_a_table_and_the_exit_code_is_1(plant, file, capsys):
    path = file("leg 3 of S,1490,+40,2026-03-02 09:00")

    with nothing_written(), pytest.raises(SystemExit) as left:
        run(capsys, path, "--commit")

    said = capsys.readouterr().out
    assert left.value.code == 1
    assert (
        "2    Level   +40    40 dBm is above what a PON carries; is a minus sign missing?" in said
    )
    assert said.endswith("Nothing was written.\n")


def test_a_huge_junk_file_is_refused_at_once(plant, tmp_path):
    path = tmp_path / "junk.csv"
    with path.open("wb") as junk:
        junk.truncate(50_000_000)

    with pytest.raises(CommandError, match=r"junk.csv: This file is not text"):
        call_command("readings", str(path))
