"""The plant of a place for what is handed over: its own, and what its ways and joints lead to."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import QuerySet

from records.models import Cable, Equipment, EquipmentKind, Line, Place, Point
from records.queries.cables import FibreOf, fibres_of
from records.queries.equipment import JointIn, PortOf, joints_in_each, ports_of
from records.queries.inside import by_id_at_either_end, by_id_in
from records.queries.legs import Leg, legs_of
from records.queries.paths import Hop, Path, paths_to
from records.queries.receivers import receivers_in

BOXES = (EquipmentKind.PANEL, EquipmentKind.CLOSURE, EquipmentKind.COUPLER)
"""Equipment whose ports or joints have a schedule of their own; splitters have theirs."""


class Spotted(NamedTuple):
    """What a point is: its role and number, and the equipment or cable that owns it."""

    role: str
    number: int
    equipment_id: int | None
    cable_id: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """The equipment and cables of a place, with legs, ports, joints inside and fibres by owner."""

    equipment: tuple[Equipment, ...]
    cables: tuple[Cable, ...]
    legs: Mapping[int, list[Leg]]
    ports: Mapping[int, list[PortOf]]
    joints: Mapping[int, list[JointIn]]
    fibres: Mapping[int, list[FibreOf]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What can be named: things here, and those elsewhere that ways and joints lead to.

    `points` are those that something here is joined to, `places` by path; `first_lines` tells by
    which line each home goes.
    """

    equipment: Mapping[int, Equipment]
    cables: Mapping[int, Cable]
    points: Mapping[int, Spotted]
    places: Mapping[str, Place]
    first_lines: Mapping[int, str]

    def around_of(self, place: Place) -> list[Place]:
        """Return the places around a place, widest first, and itself."""
        return [self.places[path] for path in prefixes(place.path)]


def prefixes(path: str) -> list[str]:
    """Return the paths of the places around, widest first, and the path itself."""
    return [path[:end] for end in range(Place.steplen, len(path) + 1, Place.steplen)]


def plant_of(place: Place) -> Plant:
    """Return the plant that stands or ends in a place."""
    equipment = tuple(by_id_in(_equipment(), place, "place__").values())
    cables = tuple(by_id_at_either_end(_cables(), place, "").values())
    return Plant(
        equipment=equipment,
        cables=cables,
        legs=legs_of(each.pk for each in equipment if each.kind == EquipmentKind.SPLITTER),
        ports=ports_of(each.pk for each in equipment if each.kind in BOXES),
        joints=joints_in_each(each.pk for each in equipment),
        fibres=fibres_of(cables),
    )


def paths_by_home(place: Place) -> dict[int, list[Path]]:
    """Return the ways of light to where it is received in a place, by the place it stands in."""
    receivers = receivers_in(place)
    paths = paths_to(each.point_id for each in receivers)
    found: dict[int, list[Path]] = {}
    for each in receivers:
        found.setdefault(each.place_id, []).extend(paths.get(each.point_id, ()))
    return found


def known_around(
    inside: Iterable[Place], plant: Plant, hops: Iterable[Hop], booked: Iterable[int]
) -> Known:
    """Return what can be named of a plant, of the ways to it, and of legs booked elsewhere."""
    points = _points((*_joined_to(plant), *booked))
    owners = {(each.equipment_id, each.cable_id) for each in points.values()}
    owners |= {(hop.spot.equipment_id, hop.spot.cable_id) for hop in hops}
    equipment = {each.pk: each for each in plant.equipment}
    elsewhere = {one for one, _ in owners if one is not None} - equipment.keys()
    equipment |= {each.pk: each for each in _equipment().filter(pk__in=elsewhere)}
    cables = {each.pk: each for each in plant.cables}
    elsewhere = {one for _, one in owners if one is not None} - cables.keys()
    cables |= {each.pk: each for each in _cables().filter(pk__in=elsewhere)}
    homes = {leg.dwelling_id for legs in plant.legs.values() for leg in legs if leg.dwelling_id}
    places = [
        *inside,
        *(each.place for each in equipment.values()),
        *(place for each in cables.values() for place in (each.a_place, each.b_place)),
        *Place.objects.filter(pk__in=homes),
    ]
    of_paths = {each.path: each for each in places}
    around = {path for each in places for path in prefixes(each.path)}
    missing = Place.objects.filter(path__in=around - of_paths.keys())
    return Known(
        equipment=equipment,
        cables=cables,
        points=points,
        places=of_paths | {each.path: each for each in missing},
        first_lines=_first_lines({each.pk for each in places if each.is_dwelling}),
    )


def _equipment() -> "QuerySet[Equipment]":
    return Equipment.objects.select_related("place", "entry", "optical_class").order_by("pk")


def _cables() -> "QuerySet[Cable]":
    ends = Cable.objects.select_related("a_place", "b_place", "entry", "colour_scheme")
    return ends.order_by("pk")


def _joined_to(plant: Plant) -> Iterator[int | None]:
    """Yield the points that something here is joined to, and those that are joined here."""
    for legs in plant.legs.values():
        yield from (leg.point_id for leg in legs)
        yield from (leg.joined_to_id for leg in legs)
    for ports in plant.ports.values():
        yield from (port.joined_to_id for port in ports)
    for joints in plant.joints.values():
        for joint in joints:
            yield from (joint.one_id, joint.other_id)
    for fibres in plant.fibres.values():
        for fibre in fibres:
            yield from (fibre.a_end.joined_to_id, fibre.b_end.joined_to_id)


def _points(wanted: Iterable[int | None]) -> dict[int, Spotted]:
    found = Point.objects.filter(pk__in={pk for pk in wanted if pk is not None}).values_list(
        "pk", "role", "number", "equipment", "passage__cable"
    )
    return {
        pk: Spotted(role, number, equipment, cable) for pk, role, number, equipment, cable in found
    }


def _first_lines(home_ids: Iterable[int]) -> dict[int, str]:
    found: dict[int, str] = {}
    lines = Line.objects.filter(place__in=set(home_ids)).order_by("pk")
    for home, identifier in lines.values_list("place", "identifier"):
        found.setdefault(home, identifier)
    return found
