"""The past is asked by the queries of today: no statement may read today instead, or write."""

from datetime import timedelta

import pytest
from django.db import connection
from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q, Subquery
from django.db.models.functions import ExtractYear
from hypothesis import given
from hypothesis import strategies as st

from records.changes import bookings, equipment, joints, places, readings
from records.models import (
    Booking,
    Change,
    Equipment,
    Feed,
    Joint,
    JointEnd,
    Line,
    Passage,
    Place,
    Point,
    Reading,
)
from records.queries._past_sql import past_pieces
from records.queries.buildings import building
from records.queries.engine import rows
from records.queries.find import find
from records.queries.legs import legs
from records.queries.moment import NOW, as_it_stood, number_asked, number_at
from records.queries.paths import paths
from tests.factories import AT, Plant, opened

PLANT = """
    olt O
    splitter S 1:4
    cable F 1200 m x2
    cable D 30 m
    outlet U @1
    terminal T @1
    light O.1 GPON B+
    O.1 = F.1 = S
    book S.3 for 1
    S.3 = D ~ U - T
    """


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


@pytest.fixture
def then(plant):
    """Return the change before everything was renamed, parted and released."""
    number = Change.objects.latest("number").number
    with opened(at=AT + timedelta(days=1)) as change:
        joints.part(change, plant.joint("S.3"))
        bookings.release(change, plant["S.3"])
        places.rename(change, plant.building, name="Block Z")
        equipment.rename(change, plant.id("S"), name="S9", serial="X-1")
        equipment.install(change, kind="panel", place=plant.riser, name="P")
    return number


# --- Answers -----------------------------------------------------------------------------------


def test_all_pages_of_then_are_answered_as_they_were(plant):
    def answers():
        splitter = Equipment.objects.get(pk=plant.id("S"))
        return (
            paths(plant["T"]),
            legs(splitter),
            building(Place.objects.get(pk=plant.building)),
            find("block a flat 1"),
        )

    seen, number = answers(), Change.objects.latest("number").number
    with opened() as change:
        joints.part(change, plant.joint("S.3"))
        places.rename(change, plant.flat("1"), name="Flat 1b")

    assert answers() != seen
    with as_it_stood(number):
        assert answers() == seen


def orm_answers(plant):
    """Return answers that need joins, aliases, subqueries, unions and the like."""
    on_leg = Booking.objects.filter(leg=OuterRef("pk"))
    joined = Point.objects.filter(joint_end__joint__ends__point__equipment__name__startswith="S")
    return {
        "names": list(Equipment.objects.order_by("pk").values_list("name", "place__name")),
        "self join": sorted(joined.values_list("pk", flat=True)),
        "exists": sorted(Point.objects.filter(Exists(on_leg.open())).values_list("pk", flat=True)),
        "not exists": Point.objects.filter(~Exists(on_leg)).count(),
        "in a query": Feed.objects.filter(
            point__in=Point.objects.filter(equipment__in=Equipment.objects.filter(kind="terminal"))
        ).count(),
        "subquery": list(
            Line.objects.annotate(
                state=Subquery(Booking.objects.filter(line=OuterRef("pk")).values("state")[:1])
            ).values_list("state", flat=True)
        ),
        "union": sorted(
            Equipment.objects.filter(kind="splitter")
            .values_list("name")
            .union(Place.objects.filter(kind="building").order_by().values_list("name"))
        ),
        "counted": sorted(
            Equipment.objects.annotate(ports_count=Count("ports")).values_list("pk", "ports_count")
        ),
        "having": Joint.objects.annotate(n=Count("ends")).filter(n=2).count(),
        "excluded": Point.objects.exclude(joint_end__joint__kind="mated").count(),
        "or": Point.objects.filter(Q(joint_end=None) | Q(feeds__split__gt=1)).distinct().count(),
        "prefetched": [
            len(each.ends.all())
            for each in Joint.objects.prefetch_related(Prefetch("ends", JointEnd.objects.all()))
        ],
        "selected": [
            each.passage.cable.name
            for each in Point.objects.select_related("passage__cable").order_by("pk")
            if each.passage and each.passage.cable
        ],
        "compared": Passage.objects.filter(points__joint_end__side=F("number")).count(),
        "one": Place.objects.get(pk=plant.building).name,
        "sliced": list(Point.objects.order_by("-pk").values_list("pk", flat=True)[2:5]),
        "is there": Booking.objects.open().exists(),
        "tree": sorted(Place.objects.filter(path__gt="").order_by().values_list("name", "depth")),
    }


def test_whatever_the_orm_writes_is_answered_for_then(plant):
    seen, number = orm_answers(plant), Change.objects.latest("number").number
    with opened() as change:
        joints.part(change, plant.joint("S.3"))
        joints.part(change, plant.joint("S.in"))
        bookings.release(change, plant["S.3"])
        places.rename(change, plant.building, name="Block Z")
        equipment.rename(change, plant.id("S"), name="S9")
        equipment.install(change, kind="panel", place=plant.riser, name="P")

    assert orm_answers(plant) != seen
    with as_it_stood(number):
        assert orm_answers(plant) == seen
    with as_it_stood(NOW):
        now = orm_answers(plant)
    assert now == orm_answers(plant)


def test_a_function_that_reads_from_a_column_is_no_table(plant):
    with opened() as change:
        readings.read(change, plant["T"], wavelength_nm=1490, level_dbm=-17)

    with as_it_stood(change.number):
        years = Reading.objects.annotate(year=ExtractYear("taken_at")).values_list(
            "year", flat=True
        )
        assert list(years) == [2026]
        assert Reading.objects.filter(taken_at__month=3).count() == 1


@pytest.mark.parametrize(
    "sql",
    [
        "SELECT name FROM records_equipment WHERE kind = 'splitter'",
        "select name from Records_Equipment where kind = 'splitter'",
        """SELECT "records_equipment"."name" FROM "records_equipment" WHERE kind = 'splitter'""",
        "SELECT e.name FROM records_equipment e WHERE e.kind = 'splitter'",
        """SELECT "E".name FROM records_equipment AS "E" WHERE "E".kind = 'splitter'""",
        "SELECT name FROM/**/records_equipment--x\nWHERE kind = 'splitter'",
        "SELECT x.name FROM (SELECT * FROM records_equipment) x WHERE x.kind = 'splitter'",
        "WITH x AS (SELECT * FROM records_equipment) SELECT name FROM x WHERE kind = 'splitter'",
        """SELECT a.name FROM records_equipment a LEFT JOIN records_equipment b ON b.id = a.id
        WHERE b.kind = 'splitter'""",
        """SELECT name FROM records_equipment GROUP BY name, kind HAVING kind = 'splitter'""",
        """SELECT name FROM records_equipment WHERE kind = 'splitter'
        UNION SELECT name FROM records_equipment WHERE kind = 'splitter'""",
        """SELECT p.name FROM records_place place
        CROSS JOIN records_equipment p WHERE p.kind = 'splitter' AND place.id = p.place_id""",
        "SELECT MAX(name) FROM records_equipment WHERE name <> 'S9' AND kind = 'splitter'",
        """SELECT records_place.name FROM records_equipment records_place
        WHERE records_place.kind = 'splitter'""",
    ],
)
def test_a_statement_in_any_form_reads_then(then, sql):
    with as_it_stood(then):
        assert rows(sql) == [("S",)]


@pytest.mark.parametrize(
    ("sql", "answer"),
    [
        ("SELECT 'read FROM records_point now'", "read FROM records_point now"),
        ("SELECT 'it''s FROM records_point'", "it's FROM records_point"),
        ("SELECT 'a JOIN records_joint b' -- FROM records_joint", "a JOIN records_joint b"),
        ("SELECT 'DELETE FROM records_joint'", "DELETE FROM records_joint"),
        ('SELECT 1 AS "FROM records_joint"', 1),
    ],
)
def test_what_stands_in_a_literal_a_comment_or_a_name_is_left_alone(then, sql, answer):
    with as_it_stood(then):
        assert rows(sql) == [(answer,)]


@pytest.mark.parametrize(
    "sql",
    [
        "SELECT 1 FROM records_place a, records_point b",
        "SELECT 1 FROM (records_place JOIN records_point ON TRUE)",
        "SELECT 1 FROM public.records_point",
        'SELECT 1 FROM "main"."records_point"',
        "SELECT 1 FROM ONLY records_point",
        "TABLE records_point",
    ],
)
def test_a_form_that_would_read_today_is_refused(then, sql):
    with as_it_stood(then), pytest.raises(RuntimeError, match="as it is now"):
        rows(sql)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE records_place SET name = 'x'",
        "  insert into records_place (name) values ('x')",
        "/* first */ DELETE FROM records_place",
        "-- first\nDELETE FROM records_place",
        "WITH x AS (SELECT 1) DELETE FROM records_place",
        "WITH x AS (SELECT 1) UPDATE records_place SET name = 'x'",
        "WITH x AS (DELETE FROM records_joint RETURNING id) SELECT * FROM x",
        "REPLACE INTO records_place (id) VALUES (1)",
        "DROP TABLE records_place",
        "TRUNCATE records_place",
    ],
)
def test_a_write_is_refused(then, sql):
    with as_it_stood(then), pytest.raises(RuntimeError, match="read only"):
        rows(sql)


def test_a_write_through_the_orm_is_refused(plant, then):
    with as_it_stood(then):
        with pytest.raises(RuntimeError, match="read only"):
            Place.objects.filter(pk=plant.building).update(name="x")
        with pytest.raises(RuntimeError, match="read only"):
            Place.objects.filter(pk=plant.building)._raw_delete("default")
        with pytest.raises(RuntimeError, match="read only"), connection.cursor() as cursor:
            cursor.executemany("UPDATE records_place SET name = %s", [["x"]])


def test_a_change_can_not_be_opened_in_the_past(then):
    with as_it_stood(then), pytest.raises(RuntimeError, match="read only"), opened():
        pass


# --- Moments -----------------------------------------------------------------------------------


def test_of_two_moments_the_inner_one_counts(plant, then):
    def name():
        return Equipment.objects.get(pk=plant.id("S")).name

    later = Change.objects.latest("number").number
    with as_it_stood(later):
        assert (name(), number_asked()) == ("S9", later)
        with as_it_stood(then):
            assert (name(), number_asked()) == ("S", then)
        assert (name(), number_asked()) == ("S9", later)
    assert number_asked() == NOW


def test_an_error_inside_ends_the_past(plant, then):
    with pytest.raises(ZeroDivisionError), as_it_stood(then):
        raise ZeroDivisionError

    assert Equipment.objects.get(pk=plant.id("S")).name == "S9"


def test_a_moment_is_that_of_the_latest_change_by_then(then):
    latest = Change.objects.latest("number").number
    assert number_at(AT) == then
    assert number_at(AT + timedelta(days=1)) == latest
    assert number_at(AT - timedelta(days=1)) == 0
    with as_it_stood(0):
        assert not Place.objects.exists()


def test_what_is_not_kept_is_read_as_it_is(then):
    with as_it_stood(then):
        assert Change.objects.latest("number").number > then


# --- Any statement -----------------------------------------------------------------------------

WORDS = st.sampled_from(
    [
        "SELECT",
        "FROM",
        "JOIN",
        "records_point",
        '"records_point"',
        "records_joint",
        "x",
        ",",
        "(",
        ")",
        ".",
        "'a'",
        "'FROM records_point'",
        "-- c\n",
        "/* c */",
        "=",
        "%s",
        " ",
        "AS",
        "WHERE",
        "1",
    ]
)


@given(st.lists(WORDS, max_size=12).map(" ".join))
def test_no_statement_keeps_a_kept_table_but_as_a_name(sql):
    try:
        pieces = past_pieces(sql)
    except RuntimeError:
        return

    outside = " ".join("".join(_outside_literals("\x00".join(pieces))).split())
    for read in ("FROM", "JOIN"):
        for table in ("records_point", '"records_point"', "records_joint"):
            assert f" {read} {table} " not in f" {outside} ".replace(f"{table} .", "")


def _outside_literals(sql):
    """Return the parts of a statement outside quotes and comments, cut by another way."""
    at = 0
    while at < len(sql):
        if sql[at] == "'":
            at = sql.index("'", at + 1) + 1
        elif sql.startswith("--", at):
            at = sql.find("\n", at) if "\n" in sql[at:] else len(sql)
        elif sql.startswith("/*", at):
            at = sql.index("*/", at) + 2
        else:
            yield sql[at]
            at += 1
