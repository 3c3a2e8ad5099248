"""The path of light from each OLT port down to a point, hop by hop."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Any, NamedTuple

from records.models import Role
from records.optics.levels import Level
from records.optics.losses import Loss
from records.queries.engine import ids, in_ids, rows
from records.queries.levels import Lit, lit_at, loss_of

_UP = """
WITH RECURSIVE up(end_id, point_id, channel_id, upstream_id, depth) AS (
    SELECT point_id, point_id, channel_id, upstream_id, 0 FROM records_feed WHERE {ends}
    UNION ALL
    SELECT up.end_id, feed.point_id, feed.channel_id, feed.upstream_id, up.depth + 1
    FROM up JOIN records_feed feed
      ON feed.point_id = up.upstream_id AND feed.channel_id = up.channel_id
)
SELECT up.end_id, up.channel_id, feed.length_cm, feed.down_least_mdb, feed.down_typical_mdb,
       feed.down_most_mdb, point.id, point.role, point.number, point.measured_mdb,
       equipment.id, equipment.kind, equipment.name, place.id, place.name,
       passage.number, passage.entry_id, passage_entry.name, passage.measured_mdb,
       cable.id, cable.name, cable.kind,
       joint.id, joint.kind, joint.tray, joint.entry_id, joint_entry.name, joint.measured_mdb
FROM up
JOIN records_feed feed ON feed.point_id = up.point_id AND feed.channel_id = up.channel_id
JOIN records_point point ON point.id = up.point_id
LEFT JOIN records_equipment equipment ON equipment.id = point.equipment_id
LEFT JOIN records_place place ON place.id = equipment.place_id
LEFT JOIN records_passage passage ON passage.id = point.passage_id
LEFT JOIN records_catalogueentry passage_entry ON passage_entry.id = passage.entry_id
LEFT JOIN records_cable cable ON cable.id = passage.cable_id
LEFT JOIN records_jointend joint_end ON joint_end.point_id = point.id
LEFT JOIN records_joint joint ON joint.id = joint_end.joint_id
LEFT JOIN records_catalogueentry joint_entry ON joint_entry.id = joint.entry_id
ORDER BY up.end_id, up.channel_id, up.depth DESC
"""


class _Step(NamedTuple):
    """One row of the query: a feed on the way down to an end, and what its point belongs to."""

    end_id: int
    channel_id: int
    length_cm: int
    least_mdb: int
    typical_mdb: int
    most_mdb: int
    point_id: int
    role: str
    number: int
    leg_measured_mdb: int | None
    equipment_id: int | None
    equipment_kind: str | None
    equipment: str | None
    place_id: int | None
    place: str | None
    passage_number: int | None
    passage_entry_id: int | None
    passage_entry: str | None
    passage_measured_mdb: int | None
    cable_id: int | None
    cable: str | None
    cable_kind: str | None
    joint_id: int | None
    joint_kind: str | None
    tray: str | None
    joint_entry_id: int | None
    joint_entry: str | None
    joint_measured_mdb: int | None

    @property
    def mdb(self) -> tuple[int, int, int]:
        return self.least_mdb, self.typical_mdb, self.most_mdb


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A point on a path: its role and number, and what it belongs to.

    Either `equipment` (with its kind and place) is set or `cable` (with the fibre's number).
    """

    point_id: int
    role: str
    number: int
    equipment_id: int | None
    equipment_kind: str
    equipment: str
    place_id: int | None
    place: str
    cable_id: int | None
    cable_kind: str
    cable: str

    @property
    def label(self) -> str:
        """Return what the point is called beside its owner: 'leg 7', 'A end of fibre 3'."""
        if self.cable_id is not None:
            return f"{self.role} of fibre {self.number}"
        return f"{Role(self.role).label} {self.number}"

    @property
    def owner(self) -> str:
        """Return the name of the equipment or cable."""
        return self.equipment or self.cable


@dataclass(frozen=True, slots=True, kw_only=True)
class Hop:
    """A point on a path with the step that led to it.

    `by` names what light came through: 'fusion splice', 'G.657.A2', '1:32'; `by_kind` its kind:
    launch, joint, fibre, splitter, adapter, device. `loss` is of this step, `level` at this point;
    `fibre_m` counts from the OLT. `entry_id` is the catalogue entry the loss came from.
    """

    spot: Spot
    by: str
    by_kind: str
    joint_id: int | None
    entry_id: int | None
    is_measured: bool
    length_m: float
    loss: Loss
    level: Level
    fibre_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """The way one channel comes to a point, OLT first, and the light it brings."""

    lit: Lit
    hops: tuple[Hop, ...]

    @property
    def leg(self) -> Hop | None:
        """Return the hop at the nearest splitter leg above the point, or at it."""
        legs = [hop for hop in self.hops if hop.spot.role == Role.LEG]
        return legs[-1] if legs else None


def paths(point_id: int) -> list[Path]:
    """Return the paths by which light comes to a point: one a channel, none where it is dark."""
    return _read(lit_at([point_id]), "point_id = %s", point_id).get(point_id, [])


def paths_to(point_ids: Iterable[int]) -> dict[int, list[Path]]:
    """Return the paths to many points, as `paths` does, with a fixed number of queries."""
    wanted = set(point_ids)
    return _read(lit_at(wanted), in_ids("point_id"), ids(wanted))


def _read(light: list[Lit], ends: str, wanted: Any) -> dict[int, list[Path]]:
    if not light:
        return {}
    steps = (_Step(*row) for row in rows(_UP.format(ends=ends), [wanted]))
    by_end = {
        end: list(leading_there)
        for end, leading_there in groupby(steps, key=lambda step: (step.end_id, step.channel_id))
    }
    found: dict[int, list[Path]] = {}
    for lit in light:
        hops = tuple(_hops(lit, by_end[lit.point_id, lit.channel_id]))
        found.setdefault(lit.point_id, []).append(Path(lit=lit, hops=hops))
    return found


def _hops(lit: Lit, steps: list[_Step]) -> Iterable[Hop]:
    yield _hop(lit, None, steps[0])
    for above, step in pairwise(steps):
        yield _hop(lit, above, step)


def _hop(lit: Lit, above: _Step | None, step: _Step) -> Hop:
    before_mdb = above.mdb if above else (0, 0, 0)
    before_cm = above.length_cm if above else 0
    by = _by(above, step)
    return Hop(
        spot=_spot(step),
        by=by.name,
        by_kind=by.kind,
        joint_id=step.joint_id if by.kind == "joint" else None,
        entry_id=by.entry_id,
        is_measured=by.is_measured,
        length_m=(step.length_cm - before_cm) / 100,
        loss=loss_of([now - then for now, then in zip(step.mdb, before_mdb, strict=True)]),
        level=lit.launch - loss_of(step.mdb),
        fibre_m=step.length_cm / 100,
    )


class _By(NamedTuple):
    kind: str
    name: str
    entry_id: int | None
    is_measured: bool


_PASSAGE_KINDS = {
    "splitter": "splitter",
    "panel": "adapter",
    "outlet": "adapter",
    "attenuator": "device",
    "coupler": "device",
}


def _by(above: _Step | None, step: _Step) -> _By:
    """Tell what light came through to this point."""
    if above is None:
        return _By("launch", "launch", None, is_measured=False)
    if step.joint_id is not None and step.joint_id == above.joint_id:
        is_measured = step.joint_measured_mdb is not None
        name = step.joint_entry or step.joint_kind or ""
        return _By("joint", name, step.joint_entry_id, is_measured)
    measured_mdb = (step.passage_measured_mdb, step.leg_measured_mdb)
    is_measured = any(value is not None for value in measured_mdb)
    kind = "fibre" if step.cable_id else _PASSAGE_KINDS.get(step.equipment_kind or "", "device")
    return _By(kind, step.passage_entry or kind, step.passage_entry_id, is_measured)


def _spot(step: _Step) -> Spot:
    return Spot(
        point_id=step.point_id,
        role=step.role,
        number=step.number,
        equipment_id=step.equipment_id,
        equipment_kind=step.equipment_kind or "",
        equipment=step.equipment or "",
        place_id=step.place_id,
        place=step.place or "",
        cable_id=step.cable_id,
        cable_kind=step.cable_kind or "",
        cable=step.cable or "",
    )
