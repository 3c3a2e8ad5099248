"""Whatever is altered in history or in a change is found, at the change it belongs to."""

import json

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from records.changes import bookings, buildings, cables, channels, joints, places, readings, tags
from records.models import KEPT, STILL, Change
from records.models.tag_code import candidate
from records.queries import _laws_of_light, chain
from records.queries.chain import Seal
from records.queries.engine import rows
from records.queries.moment import as_it_stood
from tests.factories import Plant, opened, user
from tests.guards import guards_off, run_sql

PLANT = """
    olt O
    splitter S 1:4
    cable F 1200 m x2
    cable D 30 m
    outlet U @1
    terminal T @1
    flat 2
    light O.1 GPON B+
    O.1 = F.1 = S
    book S.3 for 1
    S.3 = D ~ U - T
    """
SWORN = [model for model, twin in KEPT.items() if not twin.derived]
PLANT_MODULES = {f"records.models.{name}" for name in ("places", "plant", "service", "tags")}
OF_PLANT = [model for model in SWORN if model.__module__ in PLANT_MODULES]


@pytest.fixture
def plant(db, plant_of_all):
    """Return a plant with a version in the history of every table, some of them ended."""
    return plant_of_all.copied()


@pytest.fixture(scope="module")
def plant_of_all(once):
    """Build the plant once."""
    return once(_aged_plant)


def _aged_plant():
    plant = Plant(PLANT)
    code = next(filter(None, map(candidate, range(0, 32**7, 1_000_003))))
    with opened() as change:
        tags.issue(change, count=1, candidates=[code])
        tags.bind(change, code, noun="equipment", thing=plant.id("S"))
        readings.read(change, plant["T"], wavelength_nm=1490, level_dbm=-17)
    with opened() as change:
        places.rename(change, plant.building, name="Block B")
        cables.measure(change, plant.id("F"), fibre=1, loss_db=0.4)
        channels.measure(change, plant.channel("O.1"), launch_dbm=2.5)
    with opened() as change:
        joints.part(change, plant.joint("D.1b"))
        bookings.bar(change, plant["S.4"], why="dirty")
        buildings.renumber(
            change, flats=[plant.flat("1"), plant.flat("2")], names=["Flat 2", "Flat 1"]
        )
    return plant


def columns(model):
    unsworn = {*KEPT[model].ignored, *KEPT[model].personal}
    own = [field for field in model._meta.concrete_fields if field.name not in unsworn]
    return [field.column for field in own] + ["since", "until"]


CELLS = [(model, column) for model in OF_PLANT for column in columns(model)]


def altered(vendor, column, value):
    """Return another value that the column can hold."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return 1 - value if vendor == "sqlite" and value in {0, 1} else value + 1
    if isinstance(value, float):
        return value + 0.5
    return "2001-01-01T00:00:00Z" if column == "taken_at" else f"{value}"[:-1] + "#"


@pytest.mark.parametrize(
    ("model", "column"), CELLS, ids=lambda each: getattr(each, "__name__", each)
)
def test_one_altered_cell_of_history_is_found_at_its_change(plant, model, column):
    table = KEPT[model]._meta.db_table
    version, value, since, until = rows(
        f"""SELECT row, "{column}", since, until FROM {table}
            WHERE since < until ORDER BY "{column}" IS NULL, until, row LIMIT 1"""
    )[0]
    run_sql(guards_off())

    if value is None:
        kinds = {"storey": 3, "latitude_deg": 1.5, "longitude_deg": 1.5, "diameter_mm": 2.5}
        value = kinds.get(column, 7)
    else:
        value = since if value == STILL else altered(connection.vendor, column, value)
    with connection.cursor() as cursor:
        cursor.execute(f'UPDATE {table} SET "{column}" = %s WHERE row = %s', [value, version])

    found = chain.first_break()
    assert found is not None
    # A moved beginning shows at the change that lost a version or got one, whichever is first.
    expected = {since, until} if column == "until" else {since, since + 1}
    assert found.number in expected


def test_an_end_that_no_change_set_is_found(plant):
    run_sql(guards_off())
    run_sql([f"UPDATE records_cable_history SET until = {STILL - 1} WHERE until = {STILL}"])

    assert "has no change" in chain.first_break().words


def test_the_chain_vouches_for_every_table_of_the_plant():
    assert {model.__name__ for model in KEPT} - {model.__name__ for model in SWORN} == {
        "Feed",
        "SearchText",
    }


def test_a_column_that_comes_later_leaves_the_digests_of_what_stood_without_it(plant, monkeypatch):
    later = "measured_mdb"
    tables = chain._sworn_tables()
    earlier = {
        table: [field for field in fields if field.column != later]
        for table, fields in tables.items()
    }
    monkeypatch.setattr(chain, "_sworn_tables", lambda: earlier)
    chain._content_sql.cache_clear()

    differing = {each.number for each in Change.objects.all() if each.digest != chain.digest(each)}
    chain._content_sql.cache_clear()

    having = [table for table, fields in tables.items() if fields != earlier[table]]
    filled = {
        number
        for table in having
        for row in rows(f"SELECT since, until FROM {table}_history WHERE {later} IS NOT NULL")
        for number in row
    }
    assert differing == filled - {STILL} != set()


def test_a_plant_and_its_history_are_whole(plant):
    assert chain.first_break() is None


@pytest.mark.parametrize(
    "assignment",
    [
        "reason = 'nothing'",
        "verb = 'x'",
        "actor_id = {another}",
        "at = '2001-01-01T00:00:00+00:00'",
        "effect = '{}'",
        "digest = 'x'",
    ],
)
def test_an_altered_change_is_found(plant, assignment):
    number = Change.objects.order_by("number")[1].number
    run_sql(guards_off())
    cells = assignment.replace("{another}", str(user("another").pk))
    run_sql([f"UPDATE records_change SET {cells} WHERE number = {number}"])

    assert chain.first_break().number == number


def test_an_unsealed_change_is_found(plant):
    number = Change.objects.latest("number").number
    run_sql([*guards_off(), f"UPDATE records_change SET sealed = FALSE WHERE number = {number}"])

    assert chain.first_break().words == "The change is not sealed."


def test_a_deleted_change_is_found_at_the_next_one(plant):
    first, second, third = Change.objects.order_by("number").values_list("number", flat=True)[1:4]
    run_sql(guards_off())
    run_sql(
        [
            f"UPDATE records_reading SET change_id = {first}",
            f"UPDATE records_reading_history SET change_id = {first}",
            f"DELETE FROM records_change WHERE number = {second}",
        ]
    )

    assert chain.first_break().number == third


def test_a_latest_change_deleted_without_its_history_is_found(plant):
    latest = Change.objects.latest("number").number
    run_sql([*guards_off(), f"DELETE FROM records_change WHERE number = {latest}"])

    found = chain.first_break()
    assert found.number == latest
    assert "has no change" in found.words


def test_a_latest_change_that_only_ended_versions_is_missed_too(plant):
    with opened() as change:
        joints.part(change, plant.joint("F.1b"))
    tables = [KEPT[model]._meta.db_table for model in SWORN]
    run_sql(guards_off())
    run_sql(f"DELETE FROM {table} WHERE since = {change.number}" for table in tables)
    run_sql([f"DELETE FROM records_change WHERE number = {change.number}"])

    assert chain.first_break().number == change.number


def test_two_changes_that_swap_places_are_found(plant):
    first, second = Change.objects.order_by("number").values_list("number", flat=True)[2:4]
    aside = 10**9
    run_sql(guards_off())
    if connection.vendor == "postgresql":
        run_sql(["SET CONSTRAINTS ALL DEFERRED"])
    run_sql(
        [
            "UPDATE records_reading SET change_id = 1",
            "UPDATE records_reading_history SET change_id = 1",
        ]
    )
    run_sql(
        [
            f"UPDATE records_change SET number = {aside} WHERE number = {first}",
            f"UPDATE records_change SET number = {first} WHERE number = {second}",
            f"UPDATE records_change SET number = {second} WHERE number = {aside}",
        ]
    )

    assert chain.first_break().number == first


def test_an_added_version_is_found(plant):
    table = "records_joint_history"
    names = "id, kind, entry_id, stands_in_id, tray, measured_mdb, since, until"
    run_sql([*guards_off(), f"INSERT INTO {table} ({names}) SELECT {names} FROM {table}"])

    assert chain.first_break() is not None


def test_a_past_feed_is_derived_so_a_recomputation_of_that_moment_finds_it(plant):
    number = Change.objects.latest("number").number - 1
    run_sql(guards_off())
    run_sql([f"UPDATE records_feed_history SET up_most_mdb = 1 WHERE point_id = {plant['T']}"])

    assert chain.first_break() is None
    with as_it_stood(number):
        assert any("Channel" in words for words in _laws_of_light.feeds_equal_a_recomputation())


# --- The command -------------------------------------------------------------------------------


def test_the_command_says_that_the_chain_is_whole(plant, capsys):
    call_command("chain")

    number = Change.objects.latest("number").number
    assert f"The chain is whole, up to change {number}." in capsys.readouterr().err


def test_the_command_fails_at_the_first_break(plant, capsys):
    run_sql(
        [*guards_off(), "UPDATE records_change SET reason = 'x' WHERE number = 1 OR number > 1"]
    )

    with pytest.raises(SystemExit) as exit_:
        call_command("chain")

    assert exit_.value.code == 1
    assert "Broken at change" in capsys.readouterr().err


def test_a_digest_is_written_down_and_checked_later(plant, tmp_path, capsys):
    file = tmp_path / "handover.json"
    call_command("chain", export=str(file))
    written = json.loads(file.read_text())
    latest = Change.objects.latest("number")
    assert (written["number"], written["digest"]) == (latest.number, latest.digest)
    assert written["date"].endswith("+00:00")

    with opened() as change:
        bookings.unbar(change, plant["S.4"])
    call_command("chain", check=str(file))

    assert f"whose change {latest.number} was written down" in capsys.readouterr().err


def test_what_the_chain_alone_can_not_see_is_found_by_the_written_digest(plant, tmp_path):
    file = tmp_path / "handover.json"
    with opened() as change:
        pass
    call_command("chain", export=str(file))
    run_sql([*guards_off(), f"DELETE FROM records_change WHERE number = {change.number}"])
    assert chain.first_break() is None

    with pytest.raises(SystemExit):
        call_command("chain", check=str(file))


def test_a_chain_sealed_anew_is_not_the_one_that_was_written_down(plant):
    latest = chain.latest_seal()
    assert latest

    found = chain.differs_from(Seal(number=latest.number, digest="0" * 64))

    assert "another digest" in found.words
    assert chain.differs_from(latest) is None


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"number": "x", "digest": ""}'])
def test_a_file_that_holds_no_digest_is_refused_in_words(db, tmp_path, text):
    file = tmp_path / "handover.json"
    file.write_text(text)
    with pytest.raises(CommandError, match="holds no number and digest"):
        call_command("chain", check=str(file))
    with pytest.raises(CommandError, match="can't be read"):
        call_command("chain", check=str(tmp_path / "none.json"))
    with pytest.raises(CommandError, match="can't be written"):
        call_command("chain", export=str(tmp_path / "none" / "x.json"))
