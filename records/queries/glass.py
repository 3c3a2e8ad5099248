"""When the way of some light was last worked on: joined, cut, rerouted or moved.

A reading says something of the glass that its light came through. A joint parted and made anew, a
cable on another way, equipment in another place or a channel lit are other glass, and what was
read before can't be held against them. A better figure is not: a measured loss, a confirmed one
or a new version of a catalogue entry moves what is expected and leaves the glass as it was.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from records.queries.engine import Row, ids, in_ids, rows
from records.queries.lit_piece import UP
from records.queries.moment import number_asked

_WORKS = f"""{UP},
way AS (
    SELECT up.point_id, up.channel_id, up.upstream_id,
           joint_end.since, joint.stands_in_id, point.equipment_id, passage.cable_id
    FROM up
    JOIN records_point point ON point.id = up.point_id
    LEFT JOIN records_passage passage ON passage.id = point.passage_id
    LEFT JOIN records_jointend_history joint_end ON joint_end.point_id = point.id
     AND joint_end.since <= %s AND joint_end.until > %s
    LEFT JOIN records_joint joint ON joint.id = joint_end.joint_id
)
SELECT 'step', point_id, channel_id, upstream_id, since, stands_in_id, equipment_id, cable_id
FROM way
UNION ALL
SELECT 'equipment', now.id, MAX(now.since), NULL, NULL, NULL, NULL, NULL
FROM records_equipment_history now
JOIN records_equipment_history was ON was.id = now.id AND was.until = now.since
WHERE now.since <= %s AND was.place_id <> now.place_id
  AND now.id IN (SELECT equipment_id FROM way UNION SELECT stands_in_id FROM way)
GROUP BY now.id
UNION ALL
SELECT 'cable', now.id, MAX(now.since), NULL, NULL, NULL, NULL, NULL
FROM records_cable_history now
JOIN records_cable_history was ON was.id = now.id AND was.until = now.since
WHERE now.since <= %s AND now.id IN (SELECT cable_id FROM way)
  AND (was.length_cm <> now.length_cm OR was.a_place_id <> now.a_place_id
       OR was.b_place_id <> now.b_place_id)
GROUP BY now.id
UNION ALL
SELECT 'channel', id, MIN(since), NULL, NULL, NULL, NULL, NULL
FROM records_channel_history
WHERE since <= %s AND id IN (SELECT channel_id FROM way)
GROUP BY id
"""
"""The points on some ways; by which change their equipment was last moved, their cables rerouted,
if ever, and their channels lit. A measured fibre alters its passage, not its cable."""

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
    """Return by which change the way of each light was last worked on, with one query."""
    wanted = set(light)
    if not wanted:
        return {}
    sql = _WORKS.format(starts=in_ids("point_id"))
    found: dict[str, list[Row]] = {"step": [], "equipment": [], "cable": [], "channel": []}
    for row in rows(sql, [ids(point for point, _ in wanted), *[number_asked()] * 5]):
        found[row[0]].append(row)
    ways = _Ways(_steps(found))
    return {each: ways.latest(each) for each in wanted if each in ways.steps}


def _steps(found: Mapping[str, list[Row]]) -> dict[LightAt, _Step]:
    moved, rerouted, lit = (
        {row[1]: row[2] for row in found[what]} for what in ("equipment", "cable", "channel")
    )
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
        for _, point, channel, upstream, joined, housing, equipment, cable in found["step"]
    }
