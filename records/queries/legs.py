"""The legs of splitters: their conditions, what they are promised for, how many are left."""

from collections.abc import Iterable
from dataclasses import dataclass, fields

from records.models import Equipment, LegCondition, Place
from records.queries.engine import Row, ids, in_ids, rows
from records.queries.levels import Lit, lit_at
from records.queries.names import addresses, named_points

_LEGS = """
SELECT leg.equipment_id, leg.id, leg.number, leg.condition, leg.barred_reason, leg.measured_mdb,
       leg.polish, booking.id, booking.state, line.id, line.identifier, line.place_id,
       joint.id, far.point_id
FROM records_point leg
LEFT JOIN records_booking booking
  ON booking.leg_id = leg.id AND booking.state IN ('held', 'live')
LEFT JOIN records_line line ON line.id = booking.line_id
LEFT JOIN records_jointend near ON near.point_id = leg.id
LEFT JOIN records_joint joint ON joint.id = near.joint_id
LEFT JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
WHERE {splitters} AND leg.role = 'leg'
ORDER BY leg.equipment_id, leg.number
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One leg of a splitter, what it is promised for and what it is joined to."""

    point_id: int
    number: int
    condition: str
    barred_reason: str
    measured_loss_db: float | None
    line_id: int | None
    line: str
    dwelling_id: int | None
    dwelling: str
    joint_id: int | None
    joined_to_id: int | None
    joined_to: str
    lit: tuple[Lit, ...]


def legs(splitter: Equipment) -> list[Leg]:
    """Return all legs of a splitter in order, with a fixed number of queries."""
    return legs_of([splitter.pk]).get(splitter.pk, [])


def legs_of(splitter_ids: Iterable[int]) -> dict[int, list[Leg]]:
    """Return the legs of many splitters in order, with the same number of queries."""
    listed = rows(_LEGS.format(splitters=in_ids("leg.equipment_id")), [ids(splitter_ids)])
    by_splitter: dict[int, list[Leg]] = {}
    for (splitter, *_), leg in zip(listed, _told([row[1:] for row in listed]), strict=True):
        by_splitter.setdefault(splitter, []).append(leg)
    return by_splitter


def _told(found: list[Row]) -> list[Leg]:
    homes = addresses(Place.objects.filter(pk__in={row[10] for row in found if row[10]}))
    names = named_points(row[12] for row in found if row[12])
    light: dict[int, list[Lit]] = {}
    for each in lit_at(row[0] for row in found):
        light.setdefault(each.point_id, []).append(each)
    return [
        Leg(
            point_id=row[0],
            number=row[1],
            condition=row[2],
            barred_reason=row[3],
            measured_loss_db=None if row[4] is None else row[4] / 1000,
            line_id=row[8],
            line=row[9] or "",
            dwelling_id=row[10],
            dwelling=homes.get(row[10], ""),
            joint_id=row[11],
            joined_to_id=row[12],
            joined_to=names.get(row[12], ""),
            lit=tuple(light.get(row[0], ())),
        )
        for row in found
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class LegCounts:
    """How many legs are in each condition."""

    spare: int = 0
    held: int = 0
    live: int = 0
    onward: int = 0
    barred: int = 0

    @property
    def total(self) -> int:
        """Return the number of legs."""
        return sum(getattr(self, each.name) for each in fields(self))

    def __add__(self, other: "LegCounts") -> "LegCounts":
        return LegCounts(
            **{
                each.name: getattr(self, each.name) + getattr(other, each.name)
                for each in fields(self)
            }
        )


def leg_counts(splitter_ids: Iterable[int]) -> dict[int, LegCounts]:
    """Return the leg counts of each of these splitters."""
    found = rows(
        f"""SELECT equipment_id, condition, COUNT(*) FROM records_point
            WHERE {in_ids("equipment_id")} AND role = 'leg' GROUP BY equipment_id, condition""",
        [ids(splitter_ids)],
    )
    counts: dict[int, dict[str, int]] = {}
    for splitter, condition, number in found:
        counts.setdefault(splitter, {})[LegCondition(condition).value] = number
    return {splitter: LegCounts(**each) for splitter, each in counts.items()}


def leg_counts_in(place: Place) -> LegCounts:
    """Return the leg counts of all splitters in a place and the places inside it."""
    found = rows(
        """SELECT point.condition, COUNT(*)
           FROM records_place place
           JOIN records_equipment equipment
             ON equipment.place_id = place.id AND equipment.kind = 'splitter'
           JOIN records_point point
             ON point.equipment_id = equipment.id AND point.role = 'leg'
           WHERE place.path >= %s AND place.path < %s
           GROUP BY point.condition""",
        [place.path, after_all_inside(place)],
    )
    return LegCounts(**{LegCondition(condition).value: number for condition, number in found})


def after_all_inside(place: Place) -> str:
    """Return the first path after those of a place and all inside it: its next sibling's.

    A range of paths is an index range on both engines, where LIKE is not on every collation.
    Paths hold digits and capitals only, whose order every collation agrees on.
    """
    after: str = place._inc_path()  # noqa: SLF001 (treebeard's own step to the next path)
    return after
