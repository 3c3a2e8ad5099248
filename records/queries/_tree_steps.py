"""A channel's tree as steps that can fail, read up from the points where it was measured."""

from collections.abc import Iterable
from math import sqrt
from typing import NamedTuple

from records.light.stretches import Step
from records.optics.levels import Level
from records.queries.engine import ids, in_ids, rows

_UP = """
WITH RECURSIVE up(point_id, upstream_id) AS (
    SELECT point_id, upstream_id FROM records_feed
    WHERE channel_id = %s AND {starts}
    UNION
    SELECT feed.point_id, feed.upstream_id
    FROM up JOIN records_feed feed
      ON feed.point_id = up.upstream_id AND feed.channel_id = %s
)
SELECT up.point_id, up.upstream_id, feed.down_most_mdb - feed.down_least_mdb,
       point.role, equipment.id, equipment.kind, cable.id, cable.fibre_count,
       joint.id, joint.kind
FROM up
JOIN records_feed feed ON feed.point_id = up.point_id AND feed.channel_id = %s
JOIN records_point point ON point.id = up.point_id
LEFT JOIN records_equipment equipment ON equipment.id = point.equipment_id
LEFT JOIN records_passage passage ON passage.id = point.passage_id
LEFT JOIN records_cable cable ON cable.id = passage.cable_id
LEFT JOIN records_jointend joint_end ON joint_end.point_id = point.id
LEFT JOIN records_joint joint ON joint.id = joint_end.joint_id
"""

SIGMAS_IN_A_RANGE = 6
"""From least to most. Source: PERT (Malcolm and others, Operations Research 7, 1959)."""

COMMON_TO_ALL_LEGS = 0.5
"""How much of a splitter's variance its legs share (common practice; no figure is published)."""

_ADAPTERS = frozenset({"panel", "outlet"})
"""Equipment whose ports are faces of adapters, each with a pair of plugs inside."""


class Where(NamedTuple):
    """What a step is in the plant: from which point to which, through what."""

    upper_id: int | None
    point_id: int
    equipment_id: int | None
    cable_id: int | None
    joint_id: int | None


class TreeSteps(NamedTuple):
    """The steps, what each is in the plant, and the step that ends at each point.

    Between a splitter's input and its legs stands one step more, its body.
    """

    steps: list[Step]
    where: list[Where]
    ends_at: dict[int, int]
    bodies: dict[int, int]


class _Row(NamedTuple):
    point_id: int
    upstream_id: int | None
    range_mdb: int
    role: str
    equipment_id: int | None
    equipment_kind: str | None
    cable_id: int | None
    fibre_count: int | None
    joint_id: int | None
    joint_kind: str | None


def tree_steps(channel_id: int, launch: Level, point_ids: Iterable[int]) -> TreeSteps:
    """Return the steps on the ways to some points, those above first, with one query."""
    sql = _UP.format(starts=in_ids("point_id"))
    found = rows(sql, [channel_id, ids(point_ids), channel_id, channel_id])
    by_point = {row[0]: _Row(*row) for row in found}
    tree = TreeSteps([], [], {}, {})
    for row in _from_the_top(by_point):
        above = by_point.get(row.upstream_id or 0)
        if above is None:
            sigma_db = (launch.most_dbm - launch.least_dbm) / SIGMAS_IN_A_RANGE
            tree.ends_at[row.point_id] = _add(tree, row, Step(None, "launch", sigma_db), None)
        else:
            _add_between(tree, above, row)
    return tree


def _from_the_top(by_point: dict[int, _Row]) -> list[_Row]:
    below: dict[int, list[_Row]] = {}
    for row in by_point.values():
        below.setdefault(row.upstream_id or 0, []).append(row)
    ordered = list(below.get(0, ()))
    for row in ordered:
        ordered.extend(sorted(below.get(row.point_id, ())))
    return ordered


def _add(tree: TreeSteps, row: _Row, step: Step, upper_id: int | None) -> int:
    tree.steps.append(step)
    tree.where.append(Where(upper_id, row.point_id, row.equipment_id, row.cable_id, row.joint_id))
    return len(tree.steps) - 1


def _add_between(tree: TreeSteps, above: _Row, row: _Row) -> None:
    at = tree.ends_at[above.point_id]
    sigma_db = (row.range_mdb - above.range_mdb) / 1000 / SIGMAS_IN_A_RANGE
    if row.role == "leg" and above.role == "input":
        if above.point_id not in tree.bodies:
            body = Step(at, "splitter", sigma_db * sqrt(COMMON_TO_ALL_LEGS))
            tree.bodies[above.point_id] = _add(tree, above, body, above.point_id)
        own_db = sigma_db * sqrt(1 - COMMON_TO_ALL_LEGS)
        step = Step(tree.bodies[above.point_id], "leg", own_db)
    else:
        kind, sheath = _kind(above, row)
        step = Step(at, kind, sigma_db, sheath)
    tree.ends_at[row.point_id] = _add(tree, row, step, above.point_id)


def _kind(above: _Row, row: _Row) -> tuple[str, int | None]:
    """Return what kind of element a step is, and its sheath if others may share it."""
    if row.joint_id is not None and row.joint_id == above.joint_id:
        is_face = {above.equipment_kind, row.equipment_kind} & _ADAPTERS
        is_inside = row.joint_kind == "mated" and is_face
        return ("face" if is_inside else row.joint_kind or ""), None
    if row.cable_id is not None:
        return "fibre", row.cable_id if (row.fibre_count or 0) > 1 else None
    return ("adapter" if row.equipment_kind in _ADAPTERS else "device"), None
