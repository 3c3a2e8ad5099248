"""A path and a find, inside networks of any size, beside raw SQL."""

from collections.abc import Sequence

from django.db import connection

from records.models import Point
from records.models.text_index import TEXT_INDEX
from records.queries import find, paths
from tests.bench.clock import beside_ms
from tests.bench.network import HOMES_A_TREE, STRIDE

# What a path shows, in one statement: each feed with its point, what the point belongs to, the
# joint at it, both catalogue names, and the class it is judged by.
_RAW_PATH = """
WITH RECURSIVE up(point_id, channel_id, upstream_id) AS (
    SELECT point_id, channel_id, upstream_id FROM records_feed WHERE point_id = %s
    UNION ALL
    SELECT feed.point_id, feed.channel_id, feed.upstream_id
    FROM up JOIN records_feed feed
      ON feed.point_id = up.upstream_id AND feed.channel_id = up.channel_id)
SELECT feed.*, channel.*, point.*, equipment.*, place.name, passage.*, fibre.name, cable.*,
       joint.*, mated.name
FROM up
JOIN records_feed feed ON feed.point_id = up.point_id AND feed.channel_id = up.channel_id
JOIN records_channel channel ON channel.id = up.channel_id
JOIN records_point point ON point.id = up.point_id
LEFT JOIN records_equipment equipment ON equipment.id = point.equipment_id
LEFT JOIN records_place place ON place.id = equipment.place_id
LEFT JOIN records_passage passage ON passage.id = point.passage_id
LEFT JOIN records_catalogueentry fibre ON fibre.id = passage.entry_id
LEFT JOIN records_cable cable ON cable.id = passage.cable_id
LEFT JOIN records_jointend ends ON ends.point_id = point.id
LEFT JOIN records_joint joint ON joint.id = ends.joint_id
LEFT JOIN records_catalogueentry mated ON mated.id = joint.entry_id
"""

_RAW_FIND = {
    "sqlite": f"""SELECT text.noun, text.thing_id, text.words
        FROM {TEXT_INDEX} JOIN records_searchtext_history text ON text.row = {TEXT_INDEX}.rowid
        WHERE {TEXT_INDEX} MATCH %s LIMIT 300""",
    "postgresql": """SELECT noun, thing_id, words FROM records_searchtext_history
        WHERE to_tsvector('simple', words) @@ to_tsquery('simple', %s) LIMIT 300""",
}


def report(homes: int) -> None:
    """Print the figures for the network that stands in the database."""
    copy = homes // HOMES_A_TREE // 2
    terminal = Point.objects.filter(role="terminal").order_by("id")[0].pk + copy * STRIDE
    _say("path", *beside_ms(lambda: paths.paths(terminal), lambda: _raw(_RAW_PATH, [terminal])))
    for words in (
        f"flat 7 alder {copy} block",
        f"block {copy}",
        "alder",
        "flat 1",
        "alder 7 bloc",
    ):
        _find(words)


def _find(words: str) -> None:
    if not find.find(words):
        raise RuntimeError(f"{words!r} is not found, so there is nothing to measure.")
    together = " " if connection.vendor == "sqlite" else " & "
    query = together.join(words.split())
    raw = _RAW_FIND[connection.vendor]
    _say(f"find '{words}'", *beside_ms(lambda: find.find(words), lambda: _raw(raw, [query])))


def _raw(sql: str, params: Sequence[int | str]) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, params)
        cursor.fetchall()


def _say(what: str, ours_ms: float, raw_ms: float) -> None:
    print(f"  {what}: {ours_ms:.2f} ms; raw {raw_ms:.2f} ms, ratio {ours_ms / raw_ms:.1f}")
