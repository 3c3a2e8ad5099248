"""The piece of plant through which light comes to some points: read up along their feeds."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from records.light.losses import Entry
from records.light.plant import Joint, Passage, Piece, Spot
from records.queries.catalogue import entries
from records.queries.engine import Row, ids, in_ids, rows

UP = """
WITH RECURSIVE up(point_id, channel_id, upstream_id) AS (
    SELECT point_id, channel_id, upstream_id FROM records_feed WHERE {starts}
    UNION
    SELECT feed.point_id, feed.channel_id, feed.upstream_id
    FROM up JOIN records_feed feed
      ON feed.point_id = up.upstream_id AND feed.channel_id = up.channel_id
)"""
"""The feeds from some points up to their ports, as a table `up`; `starts` says which points."""

_PIECE = f"""{UP}
SELECT up.channel_id, up.upstream_id,
       point.id, point.role, point.number, point.passage_id, point.side, point.measured_mdb,
       passage.entry_id, passage.length_cm, passage.measured_mdb,
       joint.id, joint.kind, joint.entry_id, joint.measured_mdb
FROM up
JOIN records_point point ON point.id = up.point_id
LEFT JOIN records_passage passage ON passage.id = point.passage_id
LEFT JOIN records_jointend joint_end ON joint_end.point_id = point.id
LEFT JOIN records_joint joint ON joint.id = joint_end.joint_id
"""


class LitPiece(NamedTuple):
    """Spots, passages by id and joints by id on the ways of light, and which channels use them."""

    spots: dict[int, Spot]
    passages: dict[int, Passage]
    joints: dict[int, Joint]
    channels: frozenset[int]

    def piece(self, instead: Mapping[int, Entry] | None = None) -> Piece:
        """Put the piece together, with other entries in some passages if so wanted.

        What was measured on the thing replaced, and on its legs, goes with it.
        """
        replaced = instead or {}
        used = {each.entry for each in self.passages.values()}
        used |= {each.entry for each in self.joints.values()}
        known = {**entries(used), **{entry.id: entry for entry in replaced.values()}}
        passages = (
            each._replace(entry=replaced[each.id].id, measured_mdb=None)
            if each.id in replaced
            else each
            for each in self.passages.values()
        )
        spots = (
            each._replace(measured_mdb=None) if each.passage in replaced else each
            for each in self.spots.values()
        )
        return Piece.of(spots, passages, self.joints.values(), known)


def lit_piece(point_ids: Iterable[int]) -> LitPiece:
    """Return the piece through which light comes to these points, with one query."""
    found = LitPiece({}, {}, {}, frozenset())
    ends: dict[int, int] = {}
    channels = set()
    for row in rows(_PIECE.format(starts=in_ids("point_id")), [ids(point_ids)]):
        channels.add(row[0])
        _add(found, row, ends)
    return found._replace(channels=frozenset(channels))


def _add(found: LitPiece, row: Row, ends: dict[int, int]) -> None:
    point, role, number, passage, side, leg_mdb = row[2:8]
    if point in found.spots:
        return
    found.spots[point] = Spot(point, role, number, passage, side, leg_mdb)
    if passage is not None:
        found.passages[passage] = Passage(passage, *row[8:11])
    joint = row[11]
    if joint is None:
        return
    if joint in ends:
        found.joints[joint] = Joint(ends[joint], point, *row[12:15])
    else:
        ends[joint] = point
