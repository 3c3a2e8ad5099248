"""History is kept by the database itself: no write escapes it, and nothing in it is altered."""

import re
from contextlib import contextmanager

import pytest
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader

from records.models import KEPT, STILL, Booking, Change, Equipment, Joint, Place, Point
from records.models.trigger_operations import KeepHistory
from records.models.triggers import APPEND_ONLY, NO_CHANGE
from records.queries import _laws_of_history as laws
from records.queries.engine import rows
from records.queries.invariants import broken
from tests.factories import Plant, opened
from tests.guards import guards_off, guards_on, run_sql

PLANT = """
    olt O
    splitter S 1:4
    terminal T @1
    flat 2
    light O.1 GPON B+
    O.1 - S
    book S.2 for 2
    S.1 - T
    """


@pytest.fixture
def plant(db):
    return Plant(PLANT)


@contextmanager
def refused_by_the_database(words):
    """Expect a statement to fail with these words; the test goes on from before it."""
    before = connection.savepoint() or ""
    with pytest.raises(DatabaseError, match=words):
        yield
    connection.needs_rollback = False
    connection.savepoint_rollback(before)


# --- Writes ------------------------------------------------------------------------------------

COPY_JOINTS = """INSERT INTO records_joint (kind, entry_id, tray)
    SELECT kind, entry_id, 'raw' FROM records_joint"""
WRITES = {
    "update": lambda: Equipment.objects.filter(name="T").update(serial="7"),
    "bulk_update": lambda: Equipment.objects.bulk_update(
        [_renamed(Equipment.objects.get(name="T"))], ["name"]
    ),
    "delete": lambda: Booking.objects.filter(state="held").delete(),
    "raw_delete": lambda: Booking.objects.filter(state="held")._raw_delete("default"),
    "bulk_create": lambda: Place.objects.bulk_create(
        [Place(kind="pole", name="P", path="00009", depth=1)]
    ),
    "save": lambda: _renamed(Equipment.objects.get(name="O")).save(),
    "raw_sql_update": lambda: run_sql(
        ["UPDATE records_point SET measured_mdb = 3000 WHERE role = 'leg'"]
    ),
    "raw_sql_delete": lambda: run_sql(["DELETE FROM records_feed WHERE upstream_id IS NOT NULL"]),
    "raw_sql_insert": lambda: run_sql([COPY_JOINTS]),
}


def _renamed(thing):
    thing.name = "renamed"
    return thing


@pytest.mark.parametrize("write", WRITES.values(), ids=WRITES)
def test_no_bulk_or_raw_write_happens_outside_a_change(plant, write):
    with refused_by_the_database(NO_CHANGE):
        write()


@pytest.mark.parametrize("write", WRITES.values(), ids=WRITES)
def test_every_bulk_or_raw_write_in_a_change_is_in_history(plant, write):
    versions = _versions()

    with opened():
        write()

    assert _versions() > versions
    assert not list(laws.history_holds_what_stands())
    assert not list(laws.versions_do_not_overlap())


def _versions():
    """Return how many versions were begun and how many ended, in all tables together."""
    counts = f"SELECT COUNT(*), COUNT(CASE WHEN until < {STILL} THEN 1 END) FROM"
    tables = (twin._meta.db_table for twin in KEPT.values())
    return sum(sum(rows(f"{counts} {table}")[0]) for table in tables)


def test_old_and_new_stand_side_by_side(plant):
    with opened() as change:
        Equipment.objects.filter(name="T").update(serial="7")

    old, new = KEPT[Equipment].objects.of(plant.id("T"))
    assert (old.serial, old.until) == ("", change.number)
    assert (new.serial, new.since, new.until) == ("7", change.number, STILL)


def test_a_removed_row_can_still_be_seen(plant):
    booking = Booking.objects.get(state="held").pk
    with opened() as change:
        Booking.objects.filter(pk=booking).delete()

    (past,) = KEPT[Booking].objects.at(change.number - 1).filter(id=booking)
    assert past.leg_id == plant["S.2"]
    assert not KEPT[Booking].objects.at(change.number).filter(id=booking).exists()


def test_bookkeeping_alone_makes_no_version(plant):
    versions = _versions()

    with opened():
        Place.objects.filter(name="Flat 1").update(numchild=0)
        Point.objects.filter(pk=plant["S.1"]).update(number=1)

    assert _versions() == versions


# --- Guards ------------------------------------------------------------------------------------


def test_no_version_is_deleted_or_edited(plant):
    twins = [twin._meta.db_table for twin in KEPT.values()]
    tried = [twin for twin in twins if rows(f"SELECT 1 FROM {twin} LIMIT 1")]
    assert len(tried) > len(twins) / 2  # the rest have the same guards: they are compared below

    for twin in tried:
        for statement in (
            f"DELETE FROM {twin}",
            f"UPDATE {twin} SET since = since - 1",
            f"UPDATE {twin} SET until = 1",
        ):
            with refused_by_the_database(APPEND_ONLY):
                run_sql([statement])


INSERT_A_VERSION = """INSERT INTO records_joint_history (id, kind, entry_id, tray, since, until)
    SELECT id, kind, entry_id, 'raw', since, until FROM records_joint_history"""


def test_no_version_is_put_in_past_the_triggers(plant):
    with refused_by_the_database(APPEND_ONLY):
        run_sql([INSERT_A_VERSION])


def test_not_even_an_open_change_puts_a_version_in(plant, only_postgresql):
    with refused_by_the_database(APPEND_ONLY), opened():
        run_sql([INSERT_A_VERSION])


@pytest.mark.parametrize("table", ["records_joint_history", "records_joint", "records_change"])
def test_no_table_is_emptied_at_once(plant, only_postgresql, table):
    run_sql(["SET CONSTRAINTS ALL IMMEDIATE"])  # what waits for a check can't be emptied at all
    with refused_by_the_database(f"{APPEND_ONLY}: TRUNCATE|a sealed change is never"):
        run_sql([f"TRUNCATE {table} CASCADE"])


@pytest.mark.parametrize("is_recursive", ["ON", "OFF"])
def test_no_row_takes_the_place_of_another(plant, only_sqlite, is_recursive):
    run_sql([f"PRAGMA recursive_triggers = {is_recursive}"])
    try:
        for table, words in (
            ("records_joint_history", APPEND_ONLY),
            ("records_change", "a sealed change is never"),
        ):
            with refused_by_the_database(words):
                run_sql([f"REPLACE INTO {table} SELECT * FROM {table}"])
    finally:
        run_sql(["PRAGMA recursive_triggers = ON"])


def test_what_a_row_takes_the_place_of_ends_in_history(plant, only_sqlite):
    with opened() as change:
        run_sql(["REPLACE INTO records_joint SELECT * FROM records_joint"])

    joints = KEPT[Joint].objects
    assert joints.filter(until=change.number).count() == Joint.objects.count() > 0
    assert not list(laws.versions_do_not_overlap())


def test_an_ended_version_is_not_ended_again(plant):
    with opened():
        Equipment.objects.filter(name="T").update(serial="7")

    statement = f"UPDATE records_equipment_history SET until = {STILL} WHERE until < {STILL}"
    with refused_by_the_database(APPEND_ONLY):
        run_sql([statement])


@pytest.mark.parametrize(
    "statement", ["UPDATE records_change SET reason = 'other'", "DELETE FROM records_change"]
)
def test_a_sealed_change_is_not_altered(plant, statement):
    with refused_by_the_database("a sealed change is never edited or deleted"):
        run_sql([statement])


def test_a_refused_change_has_no_number_in_history(plant):
    numbers = set(Change.objects.values_list("number", flat=True))

    def fail():
        with opened():
            Equipment.objects.filter(name="T").update(serial="7")
            raise LookupError

    with pytest.raises(LookupError):
        fail()

    assert set(Change.objects.values_list("number", flat=True)) == numbers
    assert Equipment.objects.get(name="T").serial == ""
    assert list(broken()) == []


# --- What the migrations installed -------------------------------------------------------------


def _installed():
    if connection.vendor == "sqlite":
        found = rows("SELECT sql FROM sqlite_master WHERE type = 'trigger'")
    else:
        found = rows(
            """SELECT pg_get_triggerdef(oid) || pg_get_functiondef(tgfoid) FROM pg_trigger
               WHERE NOT tgisinternal"""
        )
    # A migration knows a table's columns in another order than the model lists them.
    return sorted(sorted(re.findall(r"[^\s,()]+", sql)) for (sql,) in found)


def test_the_triggers_in_the_database_are_those_the_models_ask_for(db):
    installed = _installed()
    run_sql(guards_off())
    assert _installed() != installed
    run_sql(guards_on())

    assert _installed() == installed


def test_every_kept_table_has_its_triggers_from_a_migration():
    kept = {
        operation.name: (tuple(operation.ignored), tuple(operation.personal))
        for _name, migration in sorted(MigrationLoader(None).disk_migrations.items())
        for operation in migration.operations
        if isinstance(operation, KeepHistory)
    }

    assert kept == {
        model._meta.model_name: (twin.ignored, twin.personal) for model, twin in KEPT.items()
    }
