"""When the way of some light was last worked on: joined, cut, rerouted or moved.

A reading says something of the glass that its light came through. A joint parted and made anew, a
cable on another way, equipment in another place or a channel lit are other glass, and what was
read before can't be held against them. A better figure is not: a measured loss, a confirmed one
or a new version of a catalogue entry moves what is expected and leaves the glass as it was.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from records.queries.engine import Row, ids, in_ids, rows
from records.queries.moment import number_asked

_WAY = """
WITH RECURSIVE up(point_id, channel_id, upstream_id) AS (
    SELECT point_id, channel_id, upstream_id FROM records_feed WHERE {starts}
    UNION
    SELECT feed.point_id, feed.channel_id, feed.upstream_id
    FROM up JOIN records_feed feed
      ON feed.point_id = up.upstream_id AND feed.channel_id = up.channel_id
)
SELECT up.point_id, up.channel_id, up.upstream_id,
       joint_end.since, joint.stands_in_id, point.equipment_id, passage.cable_id
FROM up
JOIN records_point point ON point.id = up.point_id
LEFT JOIN records_passage passage ON passage.id = point.passage_id
LEFT JOIN records_jointend_history joint_end ON joint_end.point_id = point.id
 AND joint_end.since <= %s AND joint_end.until > %s
LEFT JOIN records_joint joint ON joint.id = joint_end.joint_id
"""
_PLACES = "SELECT id, since, place_id FROM records_equipment_history"
_ROUTES = "SELECT id, since, length_cm, a_place_id, b_place_id FROM records_cable_history"
_LIT = "SELECT id, since FROM records_channel_history"

LightAt = tuple[int, int]
"""A point and a channel that comes there."""


class _Step(NamedTuple):
    """A point on a way: what it comes from, and by which change it was last worked on."""

    upstream: int | None
    worked_on: int


@dataclass(frozen=True, slots=True)
class _Ways:
    """The points on some ways; `known` keeps what was found for those walked already."""

    steps: Mapping[LightAt, _Step]
    known: dict[LightAt, int] = field(default_factory=dict)

    def latest(self, start: LightAt) -> int:
        """Return the latest change that worked on anything from here up to the port."""
        walked: list[LightAt] = []
        at: LightAt | None = start
        while at is not None and at not in self.known:
            walked.append(at)
            upstream = self.steps[at].upstream
            at = None if upstream is None else (upstream, start[1])
        latest = 0 if at is None else self.known[at]
        for each in reversed(walked):
            latest = max(latest, self.steps[each].worked_on)
            self.known[each] = latest
        return latest


def worked_on(light: Iterable[LightAt]) -> dict[LightAt, int]:
    """Return by which change the way of each light was last worked on, with four queries."""
    wanted = set(light)
    if not wanted:
        return {}
    starts = _WAY.format(starts=in_ids("point_id"))
    asked = number_asked()
    found = rows(starts, [ids(point for point, _ in wanted), asked, asked])
    ways = _Ways(_steps(found))
    return {each: ways.latest(each) for each in wanted if each in ways.steps}


def _steps(found: list[Row]) -> dict[LightAt, _Step]:
    moved = _turned(_PLACES, {owner for row in found for owner in row[4:6]})
    rerouted = _turned(_ROUTES, {row[6] for row in found})
    lit = _begun(_LIT, {row[1] for row in found})
    return {
        (point, channel): _Step(
            upstream,
            max(
                joined or 0,
                moved.get(housing, 0),
                moved.get(equipment, 0),
                rerouted.get(cable, 0),
                0 if upstream is not None else lit[channel],
            ),
        )
        for point, channel, upstream, joined, housing, equipment, cable in found
    }


def _turned(sql: str, things: Iterable[int | None]) -> dict[int | None, int]:
    """Return by which change the columns of some things last took another value, if ever."""
    turned: dict[int | None, int] = {}
    for before, after in pairwise(_versions(sql, things)):
        if before[0] == after[0] and before[2:] != after[2:]:
            turned[after[0]] = after[1]
    return turned


def _begun(sql: str, things: Iterable[int]) -> dict[int, int]:
    begun: dict[int, int] = {}
    for thing, since in _versions(sql, things):
        begun.setdefault(thing, since)
    return begun


def _versions(sql: str, things: Iterable[int | None]) -> list[Row]:
    """Return the versions of some things up to the moment asked about, each thing's in order."""
    wanted = ids({each for each in things if each is not None})
    limited = f"{sql} WHERE {in_ids('id')} AND since <= %s ORDER BY id, since, until"
    return rows(limited, [wanted, number_asked()])
