# ruff: noqa: PLC0415 - imports wait for Django
"""The first look at a place whose 10,000 labels are printed, beside raw SQL of the same rows.

python -m tests.bench.first_look
"""

import argparse
import gc
from typing import Any

from tests.bench.database import in_a_database

PORTS = 9_900
WANTED_MS = 300
_A_SPLITTER = 33
_SPLITTERS_A_CUPBOARD = 5
_CUPBOARDS_A_BLOCK = 6

# What a look shows or compares: each port with its box, its place, its tag and its printed text.
_RAW = """
SELECT point.id, point.role, point.number, box.id, box.name, place.path, place.name,
       tag.code, tag.cable_end, label.kind, label.tray, label.texts
FROM records_place place
JOIN records_equipment box ON box.place_id = place.id
JOIN records_point point ON point.equipment_id = box.id
LEFT JOIN records_tag tag ON tag.point_id = point.id
LEFT JOIN records_printedlabel label
  ON label.noun = 'point' AND label.thing = point.id AND label.spoiled = ''
WHERE place.path >= %s AND place.path < %s
ORDER BY place.path, box.name, point.role, point.number
"""


def report(ports: int = PORTS) -> None:
    """Print the figures, in a database that holds nothing but the catalogue."""
    from django.db import connection
    from django.test import Client

    from records.queries.engine import rows
    from records.queries.legs import after_all_inside
    from tests.bench.clock import beside_ms, own_ms
    from tests.factories import user

    estate = _printed(ports)
    crew = Client(SERVER_NAME="localhost")
    crew.force_login(user())
    path = [estate.path, after_all_inside(estate)]
    # PostgreSQL's own upkeep gathers figures on its tables; SQLite has none, nor has the product.
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    # What building the place left behind is put aside, as wsgi.py does with what it imported.
    gc.collect()
    gc.freeze()

    print(f"\n{connection.vendor}, first look at a place with {ports:,} printed port labels")
    for what, chosen in (("what needs printing", ""), ("all, with its first sheet", "all")):
        asked: dict[str, Any] = {"place": estate.pk, "choose": chosen}

        def look(asked: dict[str, Any] = asked) -> None:
            assert crew.get("/labels/print", asked).status_code == 200

        ours, raw = beside_ms(look, lambda: rows(_RAW, path), rounds=10)
        print(
            f"{what:<28}{ours:8.0f} ms, raw SQL {raw:6.0f} ms, ratio {ours / raw:5.1f}; "
            f"own {own_ms(look, 5):.0f} ms, wanted under {WANTED_MS} ms"
        )


def _printed(ports: int) -> Any:
    """Build an estate of splitters by the verbs and print all its labels. Return its place."""
    import random

    from labels import orders, owner, runs, shelf
    from labels.choices import place_items
    from records.changes import equipment, places
    from records.changes.prints import LABELS_MAX
    from records.models.tag_code import NUMBER_COUNT, candidate
    from tests.factories import entry, opened

    with opened() as change:
        estate = places.add(change, kind="estate", name="Alder Court")
        cupboard = block = None
        for number in range(ports // _A_SPLITTER):
            if number % (_SPLITTERS_A_CUPBOARD * _CUPBOARDS_A_BLOCK) == 0:
                name = f"Block {number // _SPLITTERS_A_CUPBOARD // _CUPBOARDS_A_BLOCK}"
                block = places.add(change, kind="building", name=name, parent=estate.pk)
            if number % _SPLITTERS_A_CUPBOARD == 0:
                name = f"Riser {number // _SPLITTERS_A_CUPBOARD}"
                cupboard = places.add(change, kind="riser cupboard", name=name, parent=block.pk)
            equipment.install(
                change,
                kind="splitter",
                place=cupboard.pk,
                name=f"S{number}",
                entry=entry("splitter", "1:32"),
                polish="APC",
            )
    draw = random.Random(1)
    codes = filter(None, (candidate(draw.randrange(NUMBER_COUNT)) for _ in iter(int, 1)))
    order = orders.Order(stock=shelf.stock(shelf.USUAL_SHEET), settings=owner.settled())
    items = place_items(estate)
    for start in range(0, len(items), LABELS_MAX):
        laid = runs.lay_out(items[start : start + LABELS_MAX], order, codes)
        with opened() as change:
            runs.record(change, laid, "a place to measure")
    return estate


def main() -> None:
    """Measure in a database of its own."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.first_look")
    parser.add_argument("--ports", type=int, default=PORTS)
    options = parser.parse_args()
    in_a_database(lambda: report(options.ports))


if __name__ == "__main__":
    main()
