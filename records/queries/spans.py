"""How far a channel's light has to go: to its nearest home terminal, and to its furthest."""

from collections.abc import Iterable
from typing import NamedTuple

from records.queries.engine import ids, in_ids, rows

_HOMES = """
WITH RECURSIVE beyond(point_id, channel_id) AS (
    SELECT point_id, id FROM records_channel WHERE {channels}
    UNION ALL
    SELECT feed.point_id, feed.channel_id
    FROM beyond JOIN records_feed feed
      ON feed.upstream_id = beyond.point_id AND feed.channel_id = beyond.channel_id
)
SELECT beyond.channel_id, feed.length_cm, port.id, feed.split
FROM beyond
JOIN records_point port ON port.id = beyond.point_id AND port.role = 'terminal'
JOIN records_feed feed ON feed.point_id = port.id AND feed.channel_id = beyond.channel_id
ORDER BY beyond.channel_id, feed.length_cm, port.id
"""


class Home(NamedTuple):
    """A home terminal's port, the fibre to it, and how far its light is divided."""

    point_id: int
    fibre_m: float
    split: int


class Span(NamedTuple):
    """The home terminals of one channel: how many, the ends of the row, the furthest division."""

    homes: int
    nearest: Home
    furthest: Home
    split: int


def spans(channel_ids: Iterable[int]) -> dict[int, Span]:
    """Return the spans of those of some channels that light a home terminal, with one query."""
    homes: dict[int, list[Home]] = {}
    for channel, length_cm, point, split in rows(
        _HOMES.format(channels=in_ids("id")), [ids(channel_ids)]
    ):
        homes.setdefault(channel, []).append(Home(point, length_cm / 100, split))
    return {
        channel: Span(len(row), row[0], row[-1], max(home.split for home in row))
        for channel, row in homes.items()
    }
