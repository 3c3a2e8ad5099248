"""A place as a sheet of flats, in the columns in which a crew's sheet is taken in.

Taken into an empty record, with the types in `assumed`, it builds the same plant; what it can't
say stands in `left_out`, thing by thing. Taken into the record it comes from, it adds nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from records.handover.exports.flats_left_out import left_out
from records.handover.exports.flats_types import assumed_types
from records.handover.exports.home_wiring import Wiring, Wirings
from records.handover.exports.left_out import LeftOut
from records.handover.exports.naming import Naming
from records.handover.exports.tables import Cell, Table
from records.models import Direction, EntryKind, Place, PlaceKind, Point, Reading
from records.queries.levels import lit_at
from records.queries.plant_inside import PlantInside
from records.queries.readings import latest_readings

COLUMNS = (
    *("Estate", "Building", "Floor", "Flat", "Cupboard", "Splitter", "Ratio", "Leg", "Cable"),
    *("Fibre", "Fibres", "Length (m)", "Outlet", "Terminal serial", "Reading (dBm)"),
    *("Wavelength (nm)", "OLT port", "Note"),
)
"""The headers, as an intake knows them."""

NO_LIGHT = "no light"

Written = tuple[Cell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatsSheet:
    """The sheet, the types to assume when it is taken in, by name, and what it can't say."""

    table: Table
    assumed: dict[str, str | float]
    left_out: tuple[LeftOut, ...]


def flats_sheet(plant: PlantInside, *, has_addresses: bool) -> FlatsSheet:
    """Return the homes of a place as a sheet, in the order of a walk."""
    naming = Naming(plant, has_addresses=has_addresses)
    find = Wirings(plant)
    wirings = [find.of(home) for home in plant.homes if plant.nearest(home, PlaceKind.BUILDING)]
    readings, ports = _readings(wirings), _olt_ports(wirings)
    assumed = assumed_types(wirings)
    return FlatsSheet(
        table=Table(
            columns=COLUMNS,
            rows=tuple(
                (
                    *_where(plant, each.home, naming),
                    *_leg(plant, each),
                    *_cable(each),
                    *_fittings(each),
                    *_reading(readings.get(read_at(each) or 0)),
                    ports.get(each.leg.pk, "") if each.leg else "",
                    naming.note(_note(each, readings)),
                )
                for each in wirings
            ),
        ),
        assumed=assumed,
        left_out=left_out(plant, wirings, naming=naming, assumed=assumed, readings=readings),
    )


def read_at(wiring: Wiring) -> int | None:
    """Return the point whose reading a row has: the home terminal's port, else the outlet's."""
    if wiring.patch:
        return wiring.patch.port.pk
    return wiring.front.pk if wiring.front else None


def _readings(wirings: Iterable[Wiring]) -> dict[int, Reading]:
    """Return the latest reading down at each row's point."""
    found: dict[int, Reading] = {}
    points = [point for each in wirings if (point := read_at(each))]
    for judged in latest_readings(points):
        reading = judged.reading
        known = found.get(reading.point_id)
        is_later = known is None or (reading.taken_at, reading.pk) > (known.taken_at, known.pk)
        if reading.direction == Direction.DOWN and is_later:
            found[reading.point_id] = reading
    return found


def _olt_ports(wirings: Iterable[Wiring]) -> dict[int, str]:
    """Return the PON port that lights each leg, such as 'OLT1 3'."""
    lit = lit_at(each.leg.pk for each in wirings if each.leg)
    ports = Point.objects.select_related("equipment").in_bulk({each.port_id for each in lit})
    named = {
        pk: f"{port.equipment.name} {port.number}" for pk, port in ports.items() if port.equipment
    }
    # Main channels come before standbys, so the first of a leg is what feeds it.
    return {each.point_id: named[each.port_id] for each in reversed(lit)}


def _note(wiring: Wiring, readings: Mapping[int, Reading]) -> str:
    reading = readings.get(read_at(wiring) or 0)
    return reading.note if reading else wiring.home.note


def _where(plant: PlantInside, home: Place, naming: Naming) -> Written:
    estate, building, _ = naming.where(home)
    return estate, building, _storey(plant.nearest(home, PlaceKind.FLOOR)), naming.home(home)


def _storey(floor: Place | None) -> Cell:
    """Return a floor by its number; one without a number by its name."""
    if floor is None:
        return ""
    if floor.storey is None:
        return floor.name
    return "G" if floor.storey == 0 else floor.storey


def _leg(plant: PlantInside, wiring: Wiring) -> Written:
    """Return cupboard, splitter, ratio and leg; the cupboard where a cable alone begins there."""
    begins = wiring.drop.cable.a_place.name if wiring.drop else ""
    splitter = plant.owner(wiring.leg) if wiring.leg else None
    if wiring.leg is None or splitter is None or splitter.entry is None:
        return begins, "", "", None
    is_cupboard = splitter.place.kind == PlaceKind.CUPBOARD
    is_ratio = splitter.entry.kind == EntryKind.SPLITTER
    return (
        splitter.place.name if is_cupboard else "",
        splitter.name,
        splitter.entry.name if is_ratio else "",
        wiring.leg.number,
    )


def _cable(wiring: Wiring) -> Written:
    if wiring.drop is None:
        return "", None, None, None
    cable, fibre = wiring.drop.cable, wiring.drop.fibre
    return cable.name, fibre.number, cable.fibre_count, fibre.length_cm / 100


def _fittings(wiring: Wiring) -> Written:
    return (
        wiring.outlet.name if wiring.outlet else "",
        wiring.patch.terminal.serial if wiring.patch else "",
    )


def _reading(reading: Reading | None) -> Written:
    if reading is None:
        return None, None
    level = NO_LIGHT if reading.level_mdbm is None else reading.level_mdbm / 1000
    return level, reading.wavelength_nm
