"""Schedules of a place: its homes, the legs of its splitters, and its cables fibre by fibre.

Homes come in the order of a walk, floor by floor from the ground up; splitters and cables in
natural order of their places and names. The number of queries does not grow with the rows.
"""

from collections.abc import Iterable, Iterator, Mapping

from records.handover.exports.names import ExportNames
from records.handover.exports.tables import NO_LIGHT, Cell, Table
from records.models import Cable, CableKind, Equipment, EquipmentKind, Line, Place
from records.queries.buildings import Dwelling, LineOf, TerminalOf, dwellings
from records.queries.cables import End, FibreOf, fibres_of
from records.queries.legs import Leg, legs_of
from records.queries.levels import Lit
from records.queries.plant_inside import PlantInside, homes_fittings
from records.queries.words import natural

_HOMES = (
    *("Estate", "Building", "Floor", "Home", "Outlet", "Terminal", "Terminal serial", "Line"),
    *("Leg", "State", "Light", "Also lit by", "Fibre (m)", "Loss typical (dB)"),
    *("Expected least (dBm)", "Expected typical (dBm)", "Expected most (dBm)"),
    *("Margin to too weak, down (dB)", "Margin to too weak, up (dB)", "Verdict"),
    "Last reading (dBm)",
    *("Reading wavelength (nm)", "Read at (UTC)", "Reading against typical (dB)"),
    *("Reading verdict", "Reading note"),
)
_LEGS = (
    *("Place", "Splitter", "Type", "Leg", "Condition", "Why barred", "Line", "Home", "Joined to"),
    *("Measured loss (dB)", "Light", "Expected least (dBm)", "Expected typical (dBm)"),
    "Expected most (dBm)",
)
_FIBRES = (
    *("Cable", "Kind", "From", "To", "Type", "Colours", "Fibres", "Cable length (m)", "Fibre"),
    *("Colour", "Fibre length (m)", "Condition", "Damage", "Measured loss (dB)", "A end"),
    *("A end joined to", "B end", "B end joined to"),
)
_BARE = "bare"

Row = tuple[Cell, ...]


def homes(plant: PlantInside, *, has_addresses: bool) -> Table:
    """Return each home with its lines: leg, state, level to expect, verdict, last reading.

    A home has a row for each line; a terminal that no line's leg lights has one of its own.
    """
    names = ExportNames(plant, has_addresses=has_addresses)
    known = dwellings(list(plant.homes))
    outlets = _outlets(plant, names)
    return Table(
        columns=_HOMES,
        rows=tuple(
            (*names.around(home), names.home(home), outlets.get(home.pk, ""), *rest)
            for home in plant.homes
            for rest in _of_home(known[home.pk], names)
        ),
    )


def _outlets(plant: PlantInside, names: ExportNames) -> dict[int, str]:
    """Return the names of the outlets of each home."""
    return {
        home: ", ".join(
            names.equipment(each) for each in fittings if each.kind == EquipmentKind.OUTLET
        )
        for home, fittings in homes_fittings(plant).items()
    }


def _of_home(dwelling: Dwelling, names: ExportNames) -> Iterator[Row]:
    told: set[int] = set()
    for line in dwelling.lines:
        terminal = _terminal_of(line, dwelling, told)
        if terminal is not None:
            told.add(terminal.point_id)
        yield _home_row(line, terminal, names)
    for terminal in dwelling.terminals:
        if terminal.point_id not in told:
            yield _home_row(None, terminal, names)


def _terminal_of(line: LineOf, dwelling: Dwelling, told: set[int]) -> TerminalOf | None:
    """Return the terminal that a line's leg lights; for an only line, the only terminal."""
    free = [each for each in dwelling.terminals if each.point_id not in told]
    for each in free:
        if line.leg_id is not None and any(lit.leg_id == line.leg_id for lit in each.lit):
            return each
    is_clear = len(dwelling.lines) == len(dwelling.terminals) == 1
    return free[0] if is_clear and free else None


def _home_row(line: LineOf | None, terminal: TerminalOf | None, names: ExportNames) -> Row:
    leg = names.point(line.leg_id) if line else ""
    lit = terminal.lit[0] if terminal and terminal.lit else None
    return (
        names.owner(terminal.point_id) if terminal else "",
        terminal.serial if terminal else "",
        line.identifier if line else "",
        leg,
        (line.state or "no leg") if line else "no line",
        *_light(lit, terminal),
        *_reading(terminal, names),
    )


def _light(lit: Lit | None, terminal: TerminalOf | None) -> Row:
    """Return the light of the main channel at a terminal, and what is wrong with any."""
    if terminal is None:
        return ("", "", *[None] * 7, "")
    if lit is None:
        return ("", "", *[None] * 7, "dark")
    wrong = [
        verdict.words
        for each in terminal.lit
        for verdict in (*each.down_verdicts, *each.up_verdicts)
    ]
    return (
        lit.name,
        ", ".join(each.name for each in terminal.lit[1:]),
        lit.fibre_m,
        lit.down_loss.typical_db,
        *_level(lit),
        lit.down_margins.above_needed_db,
        lit.up_margins.above_needed_db,
        "; ".join(dict.fromkeys(wrong)) or "good",
    )


def _level(lit: Lit | None) -> Row:
    if lit is None:
        return None, None, None
    return lit.level.least_dbm, lit.level.typical_dbm, lit.level.most_dbm


def _reading(terminal: TerminalOf | None, names: ExportNames) -> Row:
    if terminal is None or terminal.reading is None:
        return None, None, "", None, "", ""
    judged = terminal.reading
    reading = judged.reading
    return (
        NO_LIGHT if judged.level_dbm is None else judged.level_dbm,
        reading.wavelength_nm,
        f"{reading.taken_at:%Y-%m-%d %H:%M}",
        judged.verdict.difference_db,
        str(judged.verdict.outcome),
        names.note(reading.note),
    )


def legs(plant: PlantInside, *, has_addresses: bool) -> Table:
    """Return the legs of each splitter: condition, line, home, what each is joined to, light."""
    names = ExportNames(plant, has_addresses=has_addresses)
    splitters = sorted(
        (each for each in plant.equipment.values() if each.kind == EquipmentKind.SPLITTER),
        key=lambda each: natural(f"{names.place(each.place)} {each.name}"),
    )
    found = legs_of(each.pk for each in splitters)
    lines = {each.leg_id: each.line for each in plant.bookings.values()}
    return Table(
        columns=_LEGS,
        rows=tuple(
            _leg_row(splitter, leg, names, lines.get(leg.point_id))
            for splitter in splitters
            for leg in found.get(splitter.pk, ())
        ),
    )


def _leg_row(splitter: Equipment, leg: Leg, names: ExportNames, line: Line | None) -> Row:
    lit = leg.lit[0] if leg.lit else None
    return (
        names.place(splitter.place),
        names.equipment(splitter),
        splitter.entry.name if splitter.entry else "",
        leg.number,
        leg.condition,
        names.said(leg.barred_reason),
        leg.line,
        names.home(line.place) if line else "",
        names.point(leg.joined_to_id),
        leg.measured_loss_db,
        lit.name if lit else "",
        *_level(lit),
    )


def cables(plant: PlantInside, *, has_addresses: bool) -> Table:
    """Return each fibre of each cable and patch cord: length, condition, both ends."""
    names = ExportNames(plant, has_addresses=has_addresses)
    order = {place.pk: at for at, place in enumerate(_walk(plant))}
    listed = sorted(plant.cables.values(), key=lambda each: _cable_order(each, order))
    found = fibres_of(listed)
    return Table(
        columns=_FIBRES,
        rows=tuple(
            (*_cable_cells(cable, names), *_fibre_cells(fibre, names))
            for cable in listed
            for fibre in found.get(cable.pk, ())
        ),
    )


def _walk(plant: PlantInside) -> Iterable[Place]:
    """Return the places where homes are not, then the homes in the order of a walk."""
    known = {each.pk for each in plant.homes}
    return (*(each for each in plant.places.values() if each.pk not in known), *plant.homes)


def _cable_order(
    cable: Cable, order: Mapping[int, int]
) -> tuple[bool, int, list[tuple[int, str]]]:
    """Return a sort key: cables before patch cords, each by where it ends, then by name."""
    ends = order.get(cable.b_place_id, -1)
    return cable.kind == CableKind.CORD, ends, natural(cable.name)


def _cable_cells(cable: Cable, names: ExportNames) -> Row:
    return (
        names.cable(cable),
        cable.get_kind_display(),
        names.place(cable.a_place),
        names.place(cable.b_place),
        cable.entry.name,
        cable.colour_scheme.name if cable.colour_scheme else "",
        cable.fibre_count,
        cable.length_m,
    )


def _fibre_cells(fibre: FibreOf, names: ExportNames) -> Row:
    return (
        fibre.number,
        fibre.colour,
        fibre.length_m,
        fibre.condition,
        names.said(fibre.damage),
        fibre.measured_loss_db,
        *_end(fibre.a_end, names),
        *_end(fibre.b_end, names),
    )


def _end(end: End, names: ExportNames) -> Row:
    return end.polish or _BARE, names.point(end.joined_to_id)
