"""What a sheet of flats can't say of a plant: each thing by name, none silently."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from records.handover.exports.flats_differing import Differing
from records.handover.exports.home_wiring import Wiring
from records.handover.exports.left_out import LeftOut, Said, gathered
from records.handover.exports.names import ExportNames
from records.handover.exports.tables import MDB_PER_DB
from records.models import DWELLINGS, LegCondition, PlaceKind, Reading
from records.queries.plant_inside import PlantInside

NEVER = (
    "tags, hazard statements and history",
    "identifiers and outside references of lines: a new home gets the next line",
    "names of patch cords, and who read a level, when and with what: see the file of readings",
    "the version of a type: taking in uses the newest",
)
"""What no sheet of flats says."""

_LEVELS = {PlaceKind.ESTATE, PlaceKind.BUILDING, PlaceKind.FLOOR}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Carried:
    """The ids of what a sheet says."""

    places: set[int]
    equipment: set[int]
    cables: set[int]
    joints: set[int]
    bookings: set[int]


def left_out(
    plant: PlantInside,
    wirings: Sequence[Wiring],
    *,
    names: ExportNames,
    assumed: Mapping[str, str | float],
    readings: Mapping[int, Reading],
) -> tuple[LeftOut, ...]:
    """Return what the sheet of some homes does not say of the plant in their place."""
    carried = _carried(plant, wirings)
    said = chain(
        _places(plant, names, carried),
        _plant(plant, names, carried),
        _promised(plant, names, carried),
        _measured(plant, names, carried),
        _joined(plant, names, carried),
        Differing(plant, names, assumed).said(wirings),
        _notes(wirings, names, readings),
    )
    return gathered(said)


def _carried(plant: PlantInside, wirings: Iterable[Wiring]) -> _Carried:
    found = _Carried(places=set(), equipment=set(), cables=set(), joints=set(), bookings=set())
    for wiring in wirings:
        found.places.update(each.pk for each in plant.places_around(wiring.home))
        if wiring.booking and wiring.leg and wiring.leg.equipment_id:
            found.bookings.add(wiring.booking.pk)
            found.equipment.add(wiring.leg.equipment_id)
        if wiring.drop and wiring.outlet:
            found.places.add(wiring.drop.cable.a_place_id)
            found.cables.add(wiring.drop.cable.pk)
            found.equipment.add(wiring.outlet.pk)
            found.joints.add(wiring.drop.splice.joint_id)
            if wiring.leg and wiring.drop.leg_joint:
                found.joints.add(wiring.drop.leg_joint.joint_id)
        if wiring.patch:
            found.cables.add(wiring.patch.cord.pk)
            found.equipment.add(wiring.patch.terminal.pk)
            found.joints.update(each.joint_id for each in wiring.patch.joints)
    splitters = (plant.equipment.get(pk) for pk in found.equipment)
    found.places.update(each.place_id for each in splitters if each)
    return found


def _places(plant: PlantInside, names: ExportNames, carried: _Carried) -> Iterator[Said]:
    for place in plant.places.values():
        if place.kind in DWELLINGS:
            if place.pk not in carried.places:
                yield "homes in no building", names.place(place)
            elif place.kind != PlaceKind.FLAT:
                yield "houses and units, which are taken in as flats", names.place(place)
        elif place.pk not in carried.places and place.pk != plant.place.pk:
            yield "places without a home in the sheet", f"{names.place(place)} ({place.kind})"
        elif place.kind not in _LEVELS and place.note:
            yield "notes on places", names.place(place)
        if place.latitude_deg is not None:
            yield "positions on the map", names.place(place)


def _plant(plant: PlantInside, names: ExportNames, carried: _Carried) -> Iterator[Said]:
    for each in plant.equipment.values():
        if each.pk not in carried.equipment:
            where = names.place(each.place)
            yield "equipment", f"{each.get_kind_display()} {names.equipment(each)} ({where})"
    for cable in plant.cables.values():
        if cable.pk not in carried.cables:
            ends = f"{names.place(cable.a_place)} to {names.place(cable.b_place)}"
            yield "cables and patch cords", f"{names.cable(cable)} ({ends})"
    told = set(carried.joints)
    for point_id, joined in plant.joined.items():
        if joined.joint_id not in told:
            told.add(joined.joint_id)
            yield "joints", f"{names.point(point_id)} to {names.point(joined.point_id)}"


def _promised(plant: PlantInside, names: ExportNames, carried: _Carried) -> Iterator[Said]:
    for booking in plant.bookings.values():
        if booking.pk not in carried.bookings:
            home = names.place(booking.line.place)
            yield "bookings", f"{names.point(booking.leg_id)} for {home}"
    seen: set[int] = set()
    for line in plant.lines.values():
        if line.place_id in seen:
            yield "further lines of a home", line.identifier
        seen.add(line.place_id)
    for point in plant.points.values():
        if point.condition == LegCondition.BARRED and point.equipment_id in plant.equipment:
            yield "barred legs", f"{names.point(point.pk)}: {names.said(point.barred_reason)}"


def _measured(plant: PlantInside, names: ExportNames, carried: _Carried) -> Iterator[Said]:
    """Yield measured losses and damage of what the sheet says."""
    for point in plant.points.values():
        if point.measured_mdb is not None and point.equipment_id in carried.equipment:
            yield "measured losses", f"{names.point(point.pk)}: {_db(point.measured_mdb)}"
    for fibre in plant.fibres.values():
        if fibre.cable_id not in carried.cables:
            continue
        name = f"fibre {fibre.number} of {names.cable(plant.cables[fibre.cable_id])}"
        if fibre.measured_mdb is not None:
            yield "measured losses", f"{name}: {_db(fibre.measured_mdb)}"
        if fibre.damage:
            yield "damaged fibres", f"{name}: {names.said(fibre.damage)}"


def _joined(plant: PlantInside, names: ExportNames, carried: _Carried) -> Iterator[Said]:
    """Yield measured losses and trays of joints that the sheet says."""
    for point_id, joined in plant.joined.items():
        if joined.joint_id not in carried.joints or _is_second(plant, point_id, joined.point_id):
            continue
        if joined.measured_mdb is not None:
            name = f"joint at {names.point(point_id)}"
            yield "measured losses", f"{name}: {_db(joined.measured_mdb)}"
        if joined.tray:
            yield "trays of joints", f"{names.point(point_id)}: {names.said(joined.tray)}"


def _is_second(plant: PlantInside, point_id: int, mate_id: int) -> bool:
    """Tell whether a joint was told of at its other point."""
    return mate_id in plant.joined and mate_id < point_id


def _db(loss_mdb: int) -> str:
    return f"{loss_mdb / MDB_PER_DB:g} dB"


def _notes(
    wirings: Iterable[Wiring], names: ExportNames, readings: Mapping[int, Reading]
) -> Iterator[Said]:
    for wiring in wirings:
        points = {
            wiring.patch.port.pk if wiring.patch else 0,
            wiring.front.pk if wiring.front else 0,
        }
        is_hidden = not names.has_addresses or bool(points & readings.keys())
        if wiring.home.note and is_hidden:
            yield "notes on homes", names.home(wiring.home)
        if not names.has_addresses and any(
            readings[each].note for each in points & readings.keys()
        ):
            yield "notes on readings", names.home(wiring.home)
