"""Read pieces of plant: what light that enters at a point can reach."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from records.light.plant import Joint, Passage, Piece, Spot
from records.light.spread import Channel
from records.queries.catalogue import entries
from records.queries.engine import Row, ids, in_ids, rows

_REACH = """
WITH RECURSIVE reach(start_id, enter_id, leave_id, joint_id, far_id) AS (
    SELECT id, CAST(NULL AS bigint), CAST(NULL AS bigint), CAST(NULL AS bigint), id
    FROM records_point WHERE {starts}
    UNION
    SELECT reach.start_id, enter.id, leave.id, near.joint_id, far.point_id
    FROM reach
    JOIN records_point enter ON enter.id = reach.far_id
    JOIN records_point leave
      ON leave.passage_id = enter.passage_id AND leave.side <> enter.side
    LEFT JOIN records_jointend near ON near.point_id = leave.id
    LEFT JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
)
SELECT reach.start_id, enter.id, enter.role, enter.number, enter.side, enter.measured_mdb,
       leave.id, leave.role, leave.number, leave.side, leave.measured_mdb,
       passage.id, passage.entry_id, passage.length_cm, passage.measured_mdb,
       joint.kind, joint.entry_id, joint.measured_mdb,
       far.id, far.role, far.number, far.passage_id, far.side, far.measured_mdb
FROM reach
LEFT JOIN records_point enter ON enter.id = reach.enter_id
LEFT JOIN records_point leave ON leave.id = reach.leave_id
LEFT JOIN records_passage passage ON passage.id = enter.passage_id
LEFT JOIN records_joint joint ON joint.id = reach.joint_id
LEFT JOIN records_point far ON far.id = reach.far_id
"""


class Reach(NamedTuple):
    """Spots, passages and joints that light entering at a point can reach, not yet a piece."""

    spots: list[Spot]
    passages: list[Passage]
    joints: list[Joint]


def reach(point_id: int) -> Reach:
    """Read what light that comes to a point across its joint can reach beyond it.

    The point's own joint is not followed, so this tells what a new joint there would light.
    """
    return reaches([point_id])[point_id]


def reaches(point_ids: Iterable[int]) -> dict[int, Reach]:
    """Read what light that comes to each of some points can reach, with one query."""
    wanted = set(point_ids)
    found = {point: Reach([], [], []) for point in wanted}
    for row in _walked(wanted):
        _add(found[row[0]], row[1:])
    return found


def _walked(wanted: set[int]) -> list[Row]:
    """Walk from some points. One is asked for by `=`, the most frequent case by far.

    PostgreSQL takes any list for ten rows, and then reads whole tables for what comes of them.
    """
    if len(wanted) == 1:
        return rows(_REACH.format(starts="id = %s"), [*wanted])
    return rows(_REACH.format(starts=in_ids("id")), [ids(wanted)])


def _add(found: Reach, row: Row) -> None:
    enter, leave, passage, joint, far = row[0:5], row[5:10], row[10:14], row[14:17], row[17:23]
    if enter[0] is not None:
        found.spots.append(_spot(enter, passage[0]))
        found.spots.append(_spot(leave, passage[0]))
        found.passages.append(Passage(*passage))
    if joint[0] is not None:
        found.joints.append(Joint(leave[0], far[0], *joint))
    if far[0] is not None:
        point, role, number, passage_id, side, measured_mdb = far
        found.spots.append(Spot(point, role, number, passage_id, side, measured_mdb))


def _spot(columns: Row, passage_id: int) -> Spot:
    point, role, number, side, measured_mdb = columns
    return Spot(point, role, number, passage_id, side, measured_mdb)


def together(reaches: Iterable[Reach]) -> Piece:
    """Make a piece of what was read and of what is about to be."""
    parts = list(reaches)
    all_joints = [joint for part in parts for joint in part.joints]
    all_passages = [passage for part in parts for passage in part.passages]
    used = {each.entry for each in all_joints} | {each.entry for each in all_passages}
    all_spots = (spot for part in parts for spot in part.spots)
    return Piece.of(all_spots, all_passages, all_joints, entries(used))


def tree(channel: Channel) -> Piece:
    """Read the whole piece that a channel's port lights."""
    port = _joint_at(channel.point)
    here = Reach(port.spots, [], port.joints)
    return together([*(reach(far) for _, far in port.ends()), here])


class _Port(NamedTuple):
    spots: list[Spot]
    joints: list[Joint]

    def ends(self) -> Iterator[tuple[int, int]]:
        for joint in self.joints:
            yield joint.a, joint.b


def _joint_at(point_id: int) -> _Port:
    found = rows(
        """SELECT here.role, here.number, far.point_id, joint.kind, joint.entry_id,
                  joint.measured_mdb
           FROM records_point here
           LEFT JOIN records_jointend near ON near.point_id = here.id
           LEFT JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
           LEFT JOIN records_joint joint ON joint.id = near.joint_id
           WHERE here.id = %s""",
        [point_id],
    )
    port = _Port([], [])
    for role, number, far, *joint in found:
        port.spots.append(Spot(point_id, role, number))
        if far is not None:
            port.joints.append(Joint(point_id, far, *joint))
    return port
