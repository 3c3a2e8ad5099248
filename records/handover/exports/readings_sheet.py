"""The readings of a place as a file in which a meter's readings are taken in.

With addresses each stands at its port by full name. Without, a reading at a home stands at the
home's line, which taking in understands as its terminal or else its outlet; at other ports at
their tag, or else their name without where it is; and who held the meter stays away.
"""

from collections.abc import Iterable
from datetime import UTC, datetime

from records.handover.exports.left_out import LeftOut, gathered
from records.handover.exports.naming import Naming
from records.handover.exports.tables import Cell, Table
from records.models import DWELLINGS, Equipment, EquipmentKind, Place, Point, Reading, Role
from records.queries.names import addresses, port_label
from records.queries.plant_inside import PlantInside, readings_inside, tag_codes

COLUMNS = (
    *("Where", "Wavelength (nm)", "Direction", "Level (dBm)", "Meter", "Uncertainty (dB)"),
    *("Person", "Time", "Note"),
)
"""The headers, as a file of readings has them."""

NO_LIGHT = "no light"
MDB_PER_DB = 1000


def readings_sheet(
    plant: PlantInside, *, has_addresses: bool
) -> tuple[Table, tuple[LeftOut, ...]]:
    """Return all readings in a place, oldest first, and what the file does not say of them."""
    naming = Naming(plant, has_addresses=has_addresses)
    readings = readings_inside(plant.place)
    points = [plant.points[each.point_id] for each in readings]
    where = _full_names(plant, points) if has_addresses else _neutral_names(plant, points, naming)
    table = Table(
        columns=COLUMNS,
        rows=tuple(_row(each, where[each.point_id], naming) for each in readings),
    )
    return table, () if has_addresses else gathered(_hidden(plant, readings, where, naming))


def _row(reading: Reading, where: str, naming: Naming) -> tuple[Cell, ...]:
    level = reading.level_mdbm
    return (
        where,
        reading.wavelength_nm,
        reading.direction,
        NO_LIGHT if level is None else level / MDB_PER_DB,
        reading.meter,
        reading.uncertainty_mdb / MDB_PER_DB,
        reading.taken_by.get_username() if naming.has_addresses else "",
        _time(reading.taken_at),
        naming.note(reading.note),
    )


def _time(at: datetime) -> str:
    """Return a moment to the microsecond, as it is kept, in UTC."""
    return f"{at.astimezone(UTC).replace(tzinfo=None)}Z"


def _full_names(plant: PlantInside, points: Iterable[Point]) -> dict[int, str]:
    """Return what points are called in full, so that no other point is called the same."""
    places: dict[int, Place] = {}
    for point in points:
        places[point.pk] = _place(plant, point)
    known = addresses(set(places.values()))
    return {
        point.pk: f"{_own_name(plant, point)} ({known[places[point.pk].pk]})" for point in points
    }


def _place(plant: PlantInside, point: Point) -> Place:
    equipment, cable = plant.owner(point), plant.cable_of(point)
    if equipment is not None:
        return equipment.place
    if cable is None:
        raise ValueError(f"Point {point.pk} belongs to nothing.")
    return cable.a_place if point.role == Role.A_END else cable.b_place


def _own_name(plant: PlantInside, point: Point) -> str:
    equipment, cable = plant.owner(point), plant.cable_of(point)
    if equipment is not None:
        return f"{port_label(point)} of {equipment.name}"
    return f"{point.role} of fibre {point.number} of {cable.name if cable else ''}"


def _neutral_names(plant: PlantInside, points: Iterable[Point], naming: Naming) -> dict[int, str]:
    listed = list(points)
    lines = _read_by_line(plant, naming)
    tags = tag_codes(each.pk for each in listed)
    return {
        each.pk: lines.get(each.pk) or tags.get(each.pk) or naming.point(each.pk)
        for each in listed
    }


def _read_by_line(plant: PlantInside, naming: Naming) -> dict[int, str]:
    """Return the points that a home's line means: its only terminal's port, else its outlet's."""
    lined = {each.place_id for each in plant.lines.values()}
    ports: dict[int, dict[str, list[int]]] = {}
    for point in plant.points.values():
        fitting = plant.equipment.get(point.equipment_id or 0)
        if fitting is not None and fitting.place_id in lined and _is_read_at(fitting, point):
            ports.setdefault(fitting.place_id, {}).setdefault(fitting.kind, []).append(point.pk)
    found: dict[int, str] = {}
    for home in plant.homes:
        by_kind = ports.get(home.pk, {})
        read = by_kind.get(EquipmentKind.TERMINAL) or by_kind.get(EquipmentKind.OUTLET) or []
        if len(read) == 1:
            found[read[0]] = naming.home(home)
    return found


def _is_read_at(fitting: Equipment, point: Point) -> bool:
    if fitting.kind == EquipmentKind.OUTLET:
        return point.role == Role.FRONT
    return point.role == Role.TERMINAL


def _hidden(
    plant: PlantInside, readings: Iterable[Reading], where: dict[int, str], naming: Naming
) -> Iterable[tuple[str, str]]:
    """Yield what stays away with the addresses."""
    lines = _read_by_line(plant, naming)
    for reading in readings:
        name = where[reading.point_id]
        if reading.note:
            yield "notes on readings", name
        is_in_a_home = _place(plant, plant.points[reading.point_id]).kind in DWELLINGS
        if is_in_a_home and reading.point_id not in lines and "(" in name:
            yield "points in homes that only an address tells apart: not read back", name
