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
from records.handover.exports.names import ExportNames
from records.handover.exports.tables import CM_PER_M, MDB_PER_DB, NO_LIGHT, Cell, Table
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

Written = tuple[Cell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatsSheet:
    """The sheet, the types to assume when it is taken in, by name, and what it can't say."""

    table: Table
    assumed: dict[str, str | float]
    left_out: tuple[LeftOut, ...]


def flats_sheet(plant: PlantInside, *, has_addresses: bool) -> FlatsSheet:
    """Return the homes of a place as a sheet, in the order of a walk."""
    find = Wirings(plant)
    wirings = [find.of(home) for home in plant.homes if plant.nearest(home, PlaceKind.BUILDING)]
    readings, ports = _readings(wirings), _olt_ports(wirings)
    elsewhere = [each.place for each in ports.values()]
    names = ExportNames(plant, has_addresses=has_addresses, elsewhere=elsewhere)
    assumed = assumed_types(wirings, names)
    return FlatsSheet(
        table=Table(
            columns=COLUMNS,
            rows=tuple(
                (
                    *_where(plant, each.home, names),
                    *_leg(plant, each, names),
                    *_cable(each, names),
                    *_fittings(each, names),
                    *_reading(readings.get(read_at(each) or 0)),
                    _olt_port(ports, each, names),
                    names.note(_note(each, readings)),
                )
                for each in wirings
            ),
        ),
        assumed=assumed,
        left_out=left_out(plant, wirings, names=names, assumed=assumed, readings=readings),
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


def _olt_ports(wirings: Iterable[Wiring]) -> dict[int, Point]:
    """Return the PON port that lights each leg, by the leg's id."""
    lit = lit_at(each.leg.pk for each in wirings if each.leg)
    of_olts = Point.objects.select_related("equipment__place")
    ports = of_olts.in_bulk({each.port_id for each in lit})
    # Main channels come before standbys, so the first of a leg is what feeds it.
    return {each.point_id: ports[each.port_id] for each in reversed(lit)}


def _olt_port(ports: Mapping[int, Point], wiring: Wiring, names: ExportNames) -> str:
    """Return the PON port that lights a home's leg, such as 'OLT1 3'."""
    port = ports.get(wiring.leg.pk) if wiring.leg else None
    olt = port.equipment if port else None
    return f"{names.equipment(olt)} {port.number}" if port and olt else ""


def _note(wiring: Wiring, readings: Mapping[int, Reading]) -> str:
    reading = readings.get(read_at(wiring) or 0)
    return reading.note if reading else wiring.home.note


def _where(plant: PlantInside, home: Place, names: ExportNames) -> Written:
    estate, building, _ = names.around(home)
    floor = _storey(plant.nearest(home, PlaceKind.FLOOR), names)
    return estate, building, floor, names.home(home)


def _storey(floor: Place | None, names: ExportNames) -> Cell:
    """Return a floor by its number; one without a number by its name."""
    if floor is None:
        return ""
    if floor.storey is None:
        return names.place(floor)
    return "G" if floor.storey == 0 else floor.storey


def _leg(plant: PlantInside, wiring: Wiring, names: ExportNames) -> Written:
    """Return cupboard, splitter, ratio and leg; the cupboard where a cable alone begins there."""
    begins = names.place(wiring.drop.cable.a_place) if wiring.drop else ""
    splitter = plant.owner(wiring.leg) if wiring.leg else None
    if wiring.leg is None or splitter is None or splitter.entry is None:
        return begins, "", "", None
    is_cupboard = splitter.place.kind == PlaceKind.CUPBOARD
    is_ratio = splitter.entry.kind == EntryKind.SPLITTER
    return (
        names.place(splitter.place) if is_cupboard else "",
        names.equipment(splitter),
        splitter.entry.name if is_ratio else "",
        wiring.leg.number,
    )


def _cable(wiring: Wiring, names: ExportNames) -> Written:
    if wiring.drop is None:
        return "", None, None, None
    cable, fibre = wiring.drop.cable, wiring.drop.fibre
    return names.cable(cable), fibre.number, cable.fibre_count, fibre.length_cm / CM_PER_M


def _fittings(wiring: Wiring, names: ExportNames) -> Written:
    return (
        names.equipment(wiring.outlet) if wiring.outlet else "",
        wiring.patch.terminal.serial if wiring.patch else "",
    )


def _reading(reading: Reading | None) -> Written:
    if reading is None:
        return None, None
    level = NO_LIGHT if reading.level_mdbm is None else reading.level_mdbm / MDB_PER_DB
    return level, reading.wavelength_nm
