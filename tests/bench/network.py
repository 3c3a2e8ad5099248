"""A network of any number of homes, grown set-based from one tree that the verbs have built.

Tree 0 is 32 homes on a 1:32 splitter: PON port, feeder, leg, drop, outlet, cord, terminal.
Every further tree is a copy with its ids shifted by `STRIDE`, in one open change, so triggers
write its history as they do for any other.
"""

from typing import Any

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection

from records import changes
from records.changes import bookings, cables, channels, equipment, joints, places
from records.models import Place, Point, SearchText
from tests.factories import entry, opened, optical_class

HOMES_A_TREE = 32
STRIDE = 1_000
"""More than any table's ids in tree 0, so copies never meet.

The joints that are made while measuring come after all copies.
"""

# Table, and its columns that point into the tree; all others are copied as they are.
_COPIED = (
    ("records_equipment", ("id", "place_id")),
    ("records_cable", ("id", "a_place_id", "b_place_id")),
    ("records_passage", ("id", "cable_id", "equipment_id")),
    ("records_point", ("id", "passage_id", "equipment_id")),
    ("records_joint", ("id", "stands_in_id")),
    ("records_jointend", ("point_id", "joint_id")),
    ("records_channel", ("id", "point_id")),
    ("records_line", ("id", "place_id")),
    ("records_booking", ("id", "leg_id", "line_id")),
    ("records_feed", ("point_id", "channel_id", "upstream_id", "leg_id")),
)


def grow(homes: int) -> None:
    """Build tree 0 and copy it until there are that many homes."""
    _plant("Alder Court", "Block 0", HOMES_A_TREE)
    copies = homes // HOMES_A_TREE - 1
    if copies > 0:
        with opened(reason="a network to measure") as change:
            _copy_places(change, copies)
            for table, shifted in _COPIED:
                _copy(table, shifted, copies)
            change.steps.append({"verb": "bench", "words": f"{homes} homes"})
    _settle()


def _settle() -> None:
    """Do what a quiet minute after a load does by itself.

    PostgreSQL gathers figures; its sequences, which copies pass by, move on. SQLite empties its
    write-ahead log, which one load has made as large as the database; it is left without figures,
    as the product never gathers any.
    """
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            return
        for statement in connection.ops.sequence_reset_sql(no_style(), apps.get_models()):
            cursor.execute(statement)
        cursor.execute("VACUUM ANALYZE")


def big_tree() -> int:
    """Build a tree of 128 homes beside the others; return its PON port."""
    return _plant("Birch Court", "Tower", 128)


def _plant(estate_name: str, block_name: str, homes: int) -> int:
    """Build one tree by the verbs; return its PON port."""
    with opened(reason="a tree to measure") as change:
        estate = places.add(change, kind="estate", name=estate_name).pk
        block = places.add(change, kind="building", name=block_name, parent=estate).pk
        olt = equipment.install(change, kind="olt", place=block, name="OLT")
        splitter = equipment.install(
            change, kind="splitter", place=block, name="S", entry=entry("splitter", f"1:{homes}")
        )
        feeder = _cable(change, "F", block, block)
        port = Point.objects.get(equipment=olt).pk
        channels.light(change, port, optical_class=optical_class("GPON B+"))
        joints.join(change, port, _end(feeder, 0), kind="mated")
        joints.join(change, _end(feeder, 1), _port(splitter, "input", 1), kind="mated")
        for number in range(1, homes + 1):
            _home(change, block, splitter, number)
        return port


def _home(change: changes.OpenChange, block: int, splitter: Any, number: int) -> None:
    flat = places.add(change, kind="flat", name=f"Flat {number}", parent=block)
    outlet = equipment.install(
        change, kind="outlet", place=flat.pk, name="Outlet", back_polish="APC"
    )
    terminal = equipment.install(change, kind="terminal", place=flat.pk, name="Terminal")
    leg = _port(splitter, "leg", number)
    bookings.book(change, leg, line=flat.lines.get().pk)
    drop = _cable(change, f"D{number}", block, flat.pk)
    joints.join(change, leg, _end(drop, 0), kind="mated")
    joints.join(change, _end(drop, 1), _port(outlet, "back", 1), kind="mated")
    joints.patch(change, _port(outlet, "front", 1), _port(terminal, "terminal", 1))


def _cable(change: changes.OpenChange, name: str, a_place: int, b_place: int) -> Any:
    return cables.lay(
        change,
        name=name,
        a_place=a_place,
        b_place=b_place,
        length_m=30,
        a_polish="APC",
        b_polish="APC",
    )


def _end(cable: Any, side: int) -> int:
    return Point.objects.get(passage__cable=cable, side=side).pk


def _port(owner: Any, role: str, number: int) -> int:
    return Point.objects.get(equipment=owner, role=role, number=number).pk


def _copy_places(change: changes.OpenChange, copies: int) -> None:
    """Copy the block and its flats: paths and names are text, so not by shifting."""
    block = Place.objects.get(name="Block 0")
    flats = list(Place.objects.filter(path__startswith=block.path, kind="flat"))
    step = Place.steplen
    stem = block.path[:-step]
    for copy in range(1, copies + 1):
        path = stem + Place._int2str(copy + 1).rjust(step, "0")
        rows = [_place(block, copy, path, f"Block {copy}")]
        rows += [_place(flat, copy, path + flat.path[-step:], flat.name) for flat in flats]
        Place.objects.bulk_create(rows)
        SearchText.objects.bulk_create(
            SearchText(
                noun="place",
                thing_id=row.pk,
                words=f"alder court block {copy} {row.name.lower() if row.kind == 'flat' else ''}",
            )
            for row in rows
        )
    Place.objects.filter(path=stem).update(numchild=copies + 1)
    del change


def _place(like: Place, copy: int, path: str, name: str) -> Place:
    return Place(
        id=like.pk + copy * STRIDE,
        path=path,
        depth=like.depth,
        numchild=like.numchild,
        kind=like.kind,
        name=name,
    )


def _copy(table: str, shifted: tuple[str, ...], copies: int) -> None:
    columns = [field.column for field in _model(table)._meta.concrete_fields]
    chosen = ", ".join(_shifted(table, column, shifted) for column in columns)
    with connection.cursor() as cursor:
        cursor.execute(
            f"""WITH RECURSIVE copies(n) AS (
                    SELECT 1 UNION ALL SELECT n + 1 FROM copies WHERE n < {copies})
                INSERT INTO {table} ({", ".join(columns)})
                SELECT {chosen} FROM copies CROSS JOIN {table} WHERE {shifted[0]} < {STRIDE}"""
        )


def _shifted(table: str, column: str, shifted: tuple[str, ...]) -> str:
    if column in shifted:
        return f"{table}.{column} + n * {STRIDE}"
    if column == "identifier":
        return f"'L' || ({table}.id + n * {STRIDE})"
    if table == "records_feed" and column == "since":
        return "(SELECT number FROM records_change WHERE NOT sealed)"
    return f"{table}.{column}"


def _model(table: str) -> Any:
    return next(each for each in apps.get_models() if each._meta.db_table == table)
