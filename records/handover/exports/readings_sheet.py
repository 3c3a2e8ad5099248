"""The readings of a place as a file in which a meter's readings are taken in.

With addresses each stands at its port by full name. Without, a reading at a home stands at the
home's line, which taking in understands as its terminal or else its outlet; at other ports at
their tag, or else their name without where it is; and who held the meter stays away.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

from records.handover.exports.left_out import LeftOut, Said, gathered
from records.handover.exports.names import ExportNames
from records.handover.exports.tables import MDB_PER_DB, NO_LIGHT, Cell, Table
from records.models import Equipment, EquipmentKind, Place, Point, Reading, Role
from records.queries.names import addresses, port_label
from records.queries.plant_inside import PlantInside, readings_inside, tag_codes

COLUMNS = (
    *("Where", "Wavelength (nm)", "Direction", "Level (dBm)", "Meter", "Uncertainty (dB)"),
    *("Person", "Time", "Note"),
)
"""The headers, as a file of readings has them."""


def readings_sheet(
    plant: PlantInside, *, has_addresses: bool
) -> tuple[Table, tuple[LeftOut, ...]]:
    """Return all readings in a place, oldest first, and what the file does not say of them."""
    names = ExportNames(plant, has_addresses=has_addresses)
    readings = readings_inside(plant.place)
    points = [plant.points[each.point_id] for each in readings]
    short = {} if has_addresses else _short_names(plant, points, names)
    where = _full_names(plant, points) if has_addresses else _neutral_names(points, short, names)
    table = Table(
        columns=COLUMNS,
        rows=tuple(_row(each, where[each.point_id], names) for each in readings),
    )
    return table, () if has_addresses else gathered(_hidden(plant, readings, short, names))


def _row(reading: Reading, where: str, names: ExportNames) -> tuple[Cell, ...]:
    level = reading.level_mdbm
    return (
        where,
        reading.wavelength_nm,
        reading.direction,
        NO_LIGHT if level is None else level / MDB_PER_DB,
        reading.meter,
        reading.uncertainty_mdb / MDB_PER_DB,
        reading.taken_by.get_username() if names.has_addresses else "",
        _time(reading.taken_at),
        names.note(reading.note),
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


def _short_names(
    plant: PlantInside, points: Iterable[Point], names: ExportNames
) -> dict[int, str]:
    """Return the line or the tag of points that have one, by which they are found again."""
    return tag_codes(each.pk for each in points) | _read_by_line(plant, names)


def _neutral_names(
    points: Iterable[Point], short: Mapping[int, str], names: ExportNames
) -> dict[int, str]:
    return {each.pk: short.get(each.pk) or names.point(each.pk) for each in points}


def _read_by_line(plant: PlantInside, names: ExportNames) -> dict[int, str]:
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
            found[read[0]] = names.home(home)
    return found


def _is_read_at(fitting: Equipment, point: Point) -> bool:
    if fitting.kind == EquipmentKind.OUTLET:
        return point.role == Role.FRONT
    return point.role == Role.TERMINAL


def _hidden(
    plant: PlantInside,
    readings: Iterable[Reading],
    short: Mapping[int, str],
    names: ExportNames,
) -> Iterable[Said]:
    """Yield what stays away with the addresses."""
    full = ExportNames(plant, has_addresses=True)
    for point_id, note in ((each.point_id, each.note) for each in readings):
        name = names.point(point_id)
        if note:
            yield "notes on readings", short.get(point_id) or name
        if point_id not in short and name != full.point(point_id):
            yield "points that only an address tells: not read back", name
