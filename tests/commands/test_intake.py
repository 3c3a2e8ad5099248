"""`manage.py intake` shows what a sheet would do, and does it only when told."""

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from records.intake import Assumptions, assumed
from records.models import Change, Equipment
from tests.factories import Plant, user
from tests.intake.sheets import HEADER, row
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

JUNK = 50_000_000


@pytest.fixture
def plant():
    return Plant("splitter S 1:8")


@pytest.fixture
def sheet(tmp_path):
    """Write a sheet and return its path."""

    def write(*rows):
        path = tmp_path / "block_a.csv"
        path.write_text("\n".join([HEADER, *rows]))
        return path

    return write


def _run(capsys, *arguments, **options):
    call_command("intake", *map(str, arguments), **options)
    return capsys.readouterr().out


def test_a_sound_sheet_is_shown_and_not_written(plant, sheet, capsys):
    path = sheet(row(1), row(2))
    with nothing_written():
        said = _run(capsys, path)

    assert "cable               2    0" in said
    assert "row 2: Ground floor, Flat 1, Outlet, D1, TX0001, leg 1 of S for Flat 1" in said
    assert "Sound. Nothing was written; take it in with --commit." in said


def test_with_commit_it_is_written_as_one_change_of_the_user(plant, sheet, capsys):
    user("anna")

    said = _run(capsys, sheet(row(1)), "--commit", "--user", "anna")

    change = Change.objects.order_by("-number")[0]
    assert f"Taken in as change {change.number}." in said
    assert (change.actor.username, change.reason) == ("anna", "Taken in from block_a.csv")
    assert Equipment.objects.filter(serial="TX0001").exists()


def test_faults_are_shown_in_a_table_and_the_exit_code_is_1(plant, sheet, capsys):
    path = sheet(row(1), row(2, leg=1), row(3, leg=9))

    with nothing_written(), pytest.raises(SystemExit) as left:
        call_command("intake", str(path), "--commit")

    said = capsys.readouterr().out
    assert left.value.code == 1
    assert "2 faults:" in said
    assert "2 and 3  leg     1      Leg 1 of S is in rows 2 and 3." in said
    assert "4        leg     9      S has no leg 9." in said
    assert said.endswith("Nothing was written.\n")


def test_what_only_the_verbs_see_is_found_without_writing(plant, sheet, capsys):
    plant.grow("panel Outlet x1")
    path = sheet(row(1, splitter="Outlet"))

    with nothing_written(), pytest.raises(SystemExit):
        call_command("intake", str(path))

    said = capsys.readouterr().out
    assert "An equipment called Outlet stands in Alder Close, Block A, Riser already." in said


def test_a_sheet_that_is_in_already_says_so(plant, sheet, capsys):
    path = sheet(row(1))
    _run(capsys, path, "--commit")

    with nothing_written():
        said = _run(capsys, path, "--commit")

    assert "The record has all of this sheet already: nothing to do." in said


def test_every_assumption_is_an_option(plant, sheet, capsys):
    path = sheet(row(1, splitter="N"))
    values = {
        each.field: each.value for each in assumed(Assumptions(splitter="1:16", outlet="TO"))
    }
    options = [f"--{name.replace('_', '-')}={value}" for name, value in values.items()]

    said = _run(capsys, path, *options)

    assert "N (1:16)" in said
    assert "TO" in said


def test_a_huge_junk_file_is_refused_at_once(plant, tmp_path):
    path = tmp_path / "junk.csv"
    with path.open("wb") as file:
        file.truncate(JUNK)

    with pytest.raises(CommandError, match=r"junk.csv: This file is not text. Save the sheet"):
        call_command("intake", str(path))


def test_a_missing_file_is_named(plant, tmp_path):
    with pytest.raises(CommandError, match=r"none.csv: No such file"):
        call_command("intake", str(tmp_path / "none.csv"))


def test_where_several_could_act_the_user_must_be_named(plant, sheet):
    user("anna")
    path = sheet(row(1))

    with pytest.raises(CommandError, match=r"--user NAME. Users: anna, crew."):
        call_command("intake", str(path))
    with pytest.raises(CommandError, match="There is no active user 'bert'"):
        call_command("intake", str(path), "--user", "bert")


def test_the_demos_sheets_are_found_where_the_demo_says():
    for name in ("block_d.csv", "block_d_faults.csv"):
        assert (settings.BASE_DIR / "fixtures" / "demo" / name).exists()
