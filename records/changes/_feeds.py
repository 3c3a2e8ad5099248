"""Read and write stored feeds, set-based: what differs, in as few statements as can be."""

from collections.abc import Iterable

from django.db import connection

from records.changes._transaction import OpenChange
from records.light.losses import LossMdb
from records.light.spread import Feed
from records.queries.engine import Row, ids, in_ids, rows

_COLUMNS = (
    "point_id, channel_id, upstream_id, leg_id, length_cm, split, "
    "down_least_mdb, down_typical_mdb, down_most_mdb, up_least_mdb, up_typical_mdb, up_most_mdb"
)
_TYPES = ("bigint",) * 4 + ("integer",) * 8
_UPSERT = (
    "ON CONFLICT (point_id, channel_id) DO UPDATE SET "
    + ", ".join(f"{name.strip()} = excluded.{name.strip()}" for name in _COLUMNS.split(",")[2:])
    + ", since = excluded.since"
)

Key = tuple[int, int]
"""A point and a channel."""


def at_points(point_ids: Iterable[int]) -> list[Feed]:
    """Return the stored feeds at some points."""
    found = rows(
        f"SELECT {_COLUMNS} FROM records_feed WHERE {in_ids('point_id')}", [ids(point_ids)]
    )
    return [_feed(row) for row in found]


def _feed(row: Row) -> Feed:
    point, channel, upstream, leg, length_cm, split, *mdb = row
    return Feed(
        point, channel, upstream, leg, length_cm, split, LossMdb(*mdb[:3]), LossMdb(*mdb[3:])
    )


def write(change: OpenChange, feeds: list[Feed]) -> None:
    """Store feeds, new ones and those that differ from what is stored under their key."""
    if not feeds:
        return
    change.feeds_written += len(feeds)
    change.fed.update(feed.point for feed in feeds)
    flat = [(*feed[:6], *feed.down, *feed.up) for feed in feeds]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            arrays = ", ".join(f"%s::{each}[]" for each in _TYPES)
            cursor.execute(
                f"INSERT INTO records_feed ({_COLUMNS}, since) "
                f"SELECT *, {change.number} FROM unnest({arrays}) {_UPSERT}",
                [list(column) for column in zip(*flat, strict=True)],
            )
        else:
            marks = ", ".join(["%s"] * len(_TYPES))
            cursor.executemany(
                f"INSERT INTO records_feed ({_COLUMNS}, since) "
                f"VALUES ({marks}, {change.number}) {_UPSERT}",
                flat,
            )


_BEYOND = """
WITH RECURSIVE beyond(point_id, channel_id) AS (
    SELECT point_id, channel_id FROM records_feed WHERE point_id = %s AND upstream_id = %s
    UNION ALL
    SELECT feed.point_id, feed.channel_id
    FROM beyond
    JOIN records_feed feed
      ON feed.upstream_id = beyond.point_id AND feed.channel_id = beyond.channel_id
)
"""


def erase_beyond(change: OpenChange, point: int, upstream: int) -> list[tuple[int, int | None]]:
    """Delete the feeds that come to a point from the one upstream, and all fed by them.

    Returns the (point, leg) of each terminal port that lost light.
    """
    lost = rows(
        f"""{_BEYOND}
            DELETE FROM records_feed
            WHERE (point_id, channel_id) IN (SELECT point_id, channel_id FROM beyond)
            RETURNING point_id, leg_id,
                (SELECT role FROM records_point WHERE id = records_feed.point_id)""",
        [point, upstream],
    )
    change.feeds_written += len(lost)
    change.fed.update(point_id for point_id, _leg, _role in lost)
    return [(point_id, leg_id) for point_id, leg_id, role in lost if role == "terminal"]


def erase(change: OpenChange, keys: Iterable[Key]) -> None:
    """Delete feeds by their keys."""
    listed = list(keys)
    change.feeds_written += len(listed)
    change.fed.update(point_id for point_id, _channel in listed)
    with connection.cursor() as cursor:
        cursor.executemany(
            "DELETE FROM records_feed WHERE point_id = %s AND channel_id = %s", listed
        )


def of_channel(channel_id: int, point_id: int) -> list[Feed]:
    """Return all stored feeds of a channel by walking down from its port."""
    names = ", ".join(f"feed.{name.strip()}" for name in _COLUMNS.split(","))
    found = rows(
        f"""WITH RECURSIVE beyond(point_id) AS (
                SELECT point_id FROM records_feed WHERE point_id = %s AND channel_id = %s
                UNION ALL
                SELECT feed.point_id FROM beyond
                JOIN records_feed feed
                  ON feed.upstream_id = beyond.point_id AND feed.channel_id = %s
            )
            SELECT {names} FROM beyond
            JOIN records_feed feed
              ON feed.point_id = beyond.point_id AND feed.channel_id = %s""",
        [point_id, channel_id, channel_id, channel_id],
    )
    return [_feed(row) for row in found]
