"""The schedule of a place by floors and homes: how each is wired, and how its light stands."""

from collections.abc import Iterator
from itertools import groupby
from typing import Final

from reportlab.platypus import Flowable

from records.handover.pack.grid import Cell, Column, Grid, Row, band, row
from records.handover.pack.pages import Paragraph
from records.handover.pack.told import Told
from records.handover.pack.words import IN_ORDER, NONE, STROKE, levels_of, read_words, verdict_of
from records.models import EquipmentKind, Role
from records.optics.readings import Outcome
from records.queries.as_built import Home
from records.queries.levels import Lit
from records.queries.paths import Hop
from records.queries.readings import Judged

_PORT: Final[dict[str, str]] = {Role.LEG: "leg", Role.FRONT: "port", Role.BACK: "port"}

ABOUT = "outlet, terminal, line, leg, panel port, light"

_COLUMNS = (
    Column("Outlet", 15),
    Column("Terminal, serial", 25),
    Column("Leg", 20),
    Column("Panel port", 18),
    Column("State", 10),
    Column("Expected, dBm", 27),
    Column("Verdict", 24),
    Column("Last read, dBm", 26),
)


def section(told: Told) -> Iterator[Flowable]:
    """Yield the schedule; nothing where no home stands."""
    if not told.built.homes:
        return
    home = (Column("Home", 20),) if told.names.has_addresses else ()
    if any(path.lit.is_standby for each in told.built.homes for path in each.paths):
        yield Paragraph(STROKE)
    yield Grid((*home, Column("Line", 17), *_COLUMNS), list(_rows(told)), size=7.2)


def _rows(told: Told) -> Iterator[Row]:
    for floor, homes in groupby(told.built.homes, key=lambda home: _floor(told, home)):
        yield band(floor)
        for home in homes:
            yield _row(told, home)


def _floor(told: Told, home: Home) -> str:
    """Return where a home is, without itself."""
    place = home.dwelling.place
    around = told.built.known.around_of(place)[:-1]
    ours = [each for each in around if each.path.startswith(told.built.place.path)]
    shown = ours[1:] or ours or around
    return ", ".join(told.names.place(each) for each in shown) or told.names.place(place)


def _row(told: Told, home: Home) -> Row:
    dwelling, names = home.dwelling, told.names
    lines = "\n".join(line.identifier for line in dwelling.lines)
    own_name = names.place(dwelling.place)
    light, read = light_of(home), latest(home)
    verdict = verdict_of(light)
    is_off = read is not None and read.verdict.outcome is not Outcome.AS_EXPECTED
    return row(
        *((Cell(own_name, is_bold=True),) if names.has_addresses else ()),
        Cell(lines or (NONE if names.has_addresses else own_name), is_bold=True),
        _equipment(told, home, EquipmentKind.OUTLET),
        _equipment(told, home, EquipmentKind.TERMINAL),
        leg_of(told, home),
        panel_port(told, home),
        "\n".join(line.state or NONE for line in dwelling.lines) or NONE,
        levels_of(light) or "no light",
        Cell(verdict, is_bold=verdict != IN_ORDER),
        Cell(read_words(read), is_bold=is_off),
    )


def light_of(home: Home) -> list[Lit]:
    """Return the light at a home's receivers."""
    return [path.lit for path in home.paths]


def latest(home: Home) -> Judged | None:
    """Return the latest reading at a home's terminals."""
    read = [each.reading for each in home.dwelling.terminals if each.reading is not None]
    return max(read, key=lambda each: (each.reading.taken_at, each.reading.pk), default=None)


def leg_of(told: Told, home: Home) -> str:
    """Return the leg booked for a home, else the one that feeds it."""
    booked = [line.leg_id for line in home.dwelling.lines if line.leg_id is not None]
    if booked:
        return "\n".join(told.names.leg(leg) for leg in booked)
    fed = dict.fromkeys(_spot(told, path.leg) for path in home.paths if path.leg)
    return "\n".join(fed) or NONE


def panel_port(told: Told, home: Home) -> str:
    """Return the last port of a panel on the way to a home."""
    found: dict[str, None] = {}
    for path in home.paths:
        of_panels = [hop for hop in path.hops if hop.spot.equipment_kind == EquipmentKind.PANEL]
        if of_panels:
            found[_spot(told, of_panels[-1])] = None
    return "\n".join(found) or NONE


def _spot(told: Told, hop: Hop) -> str:
    return f"{told.names.owner(hop)} {_PORT[hop.spot.role]} {hop.spot.number}"


def _equipment(told: Told, home: Home, kind: str) -> str:
    found = [each for each in home.equipment if each.kind == kind]
    return (
        "\n".join(
            "\n".join(filter(None, (told.names.equipment(each), each.serial))) for each in found
        )
        or NONE
    )
