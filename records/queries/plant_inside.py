"""All the plant in a place and the places inside it, read with a fixed number of queries."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from records.models import (
    DWELLINGS,
    Booking,
    Cable,
    Equipment,
    EquipmentKind,
    Line,
    Passage,
    Place,
    PlaceKind,
    Point,
    Reading,
    Role,
    Tag,
)
from records.queries.buildings import dwellings_of
from records.queries.engine import ids, in_ids, rows
from records.queries.inside import by_id_at_either_end, by_id_in

_JOINTS = f"""
SELECT near.point_id, far.point_id, joint.id, joint.kind, entry.name, joint.stands_in_id,
       joint.tray, joint.measured_mdb
FROM records_jointend near
JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
JOIN records_joint joint ON joint.id = near.joint_id
JOIN records_catalogueentry entry ON entry.id = joint.entry_id
WHERE {in_ids("near.point_id")}
ORDER BY near.point_id
"""


class Joined(NamedTuple):
    """The joint at a point and the point on its other side."""

    point_id: int
    joint_id: int
    kind: str
    entry: str
    stands_in_id: int | None
    tray: str
    measured_mdb: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantInside:
    """The plant in a place, by id. Cables are those that begin or end inside.

    `around` are the places the place itself stands in, widest first. `homes` are in the order of
    a walk: floor by floor from the ground up. `points` are those of the equipment and cables, and
    those outside that they are joined to or that homes inside have booked.
    """

    place: Place
    around: tuple[Place, ...]
    homes: tuple[Place, ...]
    places: dict[int, Place]
    equipment: dict[int, Equipment]
    cables: dict[int, Cable]
    fibres: dict[int, Passage]
    points: dict[int, Point]
    joined: dict[int, Joined]
    lines: dict[int, Line]
    bookings: dict[int, Booking]
    _by_path: dict[str, Place] = field(repr=False)

    def places_around(self, place: Place) -> list[Place]:
        """Return a place and those around it, widest first, as far as they are known here."""
        ends = range(Place.steplen, len(place.path) + 1, Place.steplen)
        return [known for end in ends if (known := self._by_path.get(place.path[:end]))]

    def nearest(self, place: Place, kind: PlaceKind) -> Place | None:
        """Return the innermost place of a kind around a place, or itself."""
        found = [each for each in self.places_around(place) if each.kind == kind]
        return found[-1] if found else None

    def mate(self, point_id: int) -> Point | None:
        """Return the point that a point is joined to."""
        joined = self.joined.get(point_id)
        return self.points.get(joined.point_id) if joined else None

    def owner(self, point: Point) -> Equipment | None:
        """Return the equipment that a port belongs to, inside or outside."""
        return self.equipment.get(point.equipment_id or 0) or point.equipment

    def cable_of(self, point: Point) -> Cable | None:
        """Return the cable of a fibre end; None for a port."""
        fibre = self.fibres.get(point.passage_id or 0)
        return self.cables.get(fibre.cable_id or 0) if fibre else None


def plant_inside(place: Place) -> PlantInside:
    """Return the plant in a place that is not retired, each kind in the order of its numbers."""
    places = by_id_in(Place.objects.filter(retired=False), place, "")
    around = tuple(Place.objects.get_ancestors(place))
    fibres = by_id_at_either_end(Passage.objects.filter(cable__isnull=False), place, "cable__")
    bookings = _bookings(place)
    points = _points(place)
    joined = _joined(points)
    wanted = {each.point_id for each in joined.values()} | {
        each.leg_id for each in bookings.values()
    }
    return PlantInside(
        place=place,
        around=around,
        homes=tuple(dwellings_of(place)),
        places=places,
        equipment=by_id_in(Equipment.objects.select_related(*_OF_EQUIPMENT), place, "place__"),
        cables=by_id_at_either_end(Cable.objects.select_related(*_OF_CABLES), place, ""),
        fibres=fibres,
        points=points | _elsewhere(wanted - points.keys()),
        joined=joined,
        lines=by_id_in(Line.objects.select_related("place"), place, "place__"),
        bookings=bookings,
        _by_path={each.path: each for each in (*around, *places.values())},
    )


_OF_EQUIPMENT = ("place", "entry", "optical_class")
_OF_PORTS = ("equipment__place", "equipment__entry")
_OF_CABLES = ("entry", "colour_scheme", "a_place", "b_place")
_OF_FIBRES = ("passage__cable__a_place", "passage__cable__b_place")


def _points(place: Place) -> dict[int, Point]:
    """Return the ports of equipment inside, and the fibre ends of cables that reach inside."""
    ports = by_id_in(Point.objects.all(), place, "equipment__place__")
    ends = Point.objects.filter(equipment=None)
    return ports | by_id_at_either_end(ends, place, "passage__cable__")


def _elsewhere(point_ids: Iterable[int]) -> dict[int, Point]:
    """Return points with what owns them."""
    found = Point.objects.select_related(*_OF_PORTS, *_OF_FIBRES).filter(pk__in=set(point_ids))
    return {each.pk: each for each in found.order_by("pk")}


def _bookings(place: Place) -> dict[int, Booking]:
    """Return the open bookings for homes inside, and of legs inside."""
    opened = Booking.objects.open().select_related("line__place")
    return by_id_in(opened, place, "line__place__") | by_id_in(
        opened, place, "leg__equipment__place__"
    )


def _joined(points: Iterable[int]) -> dict[int, Joined]:
    return {row[0]: Joined(*row[1:]) for row in rows(_JOINTS, [ids(points)])}


def readings_inside(place: Place) -> list[Reading]:
    """Return all readings at ports and fibres in a place, oldest first, with who took them."""
    taken = Reading.objects.select_related("taken_by")
    found = by_id_in(taken, place, "point__equipment__place__") | by_id_at_either_end(
        taken, place, "point__passage__cable__"
    )
    return sorted(found.values(), key=lambda each: (each.taken_at, each.pk))


def tag_codes(point_ids: Iterable[int]) -> dict[int, str]:
    """Return the code of the latest tag on each of some points that has one."""
    hung = Tag.objects.filter(point__in=set(point_ids), voided="").order_by("pk")
    return dict(hung.values_list("point_id", "code"))


def ports_by(
    plant: PlantInside, key: Callable[[Point], int | None], roles: Iterable[Role]
) -> dict[int, list[Point]]:
    """Return the points of some roles by what `key` says of each, in order of their numbers."""
    wanted, found = set(roles), dict[int, list[Point]]()
    for point in sorted(plant.points.values(), key=lambda each: (each.number, each.pk)):
        of = key(point)
        if point.role in wanted and of is not None:
            found.setdefault(of, []).append(point)
    return found


def homes_fittings(plant: PlantInside) -> dict[int, list[Equipment]]:
    """Return the outlets and home terminals of each dwelling, in the order they were installed."""
    kinds = {EquipmentKind.OUTLET, EquipmentKind.TERMINAL}
    found: dict[int, list[Equipment]] = {}
    for each in plant.equipment.values():
        if each.kind in kinds and each.place.kind in DWELLINGS:
            found.setdefault(each.place_id, []).append(each)
    return found
