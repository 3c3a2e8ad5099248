"""The legs of each splitter: what they are promised for and joined to; spare ones are marked."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from records.handover.figures import db, dbm, number
from records.handover.pack.grid import Cell, Column, Grid, Row, row
from records.handover.pack.pages import Paragraph, heading
from records.handover.pack.told import Told
from records.handover.pack.words import NONE, levels_of
from records.models import Equipment, LegCondition, Role
from records.queries.legs import Leg
from records.queries.paths import Hop, Path

ABOUT = "every leg with its condition, line and level; spare ones in bold"

_COLUMNS = (
    Column("Leg", 8, "right"),
    Column("Condition", 16),
    Column("Line", 22),
    Column("Joined to", 46),
    Column("Expected, dBm", 38),
    Column("Measured", 16),
    Column("Remark", 30),
)


def section(told: Told) -> Iterator[Flowable]:
    """Yield a table a splitter."""
    inputs = _inputs(told)
    for splitter, legs in told.built.splitters:
        where = told.names.where(splitter.place)
        title = f"{told.names.equipment(splitter)}, {splitter.entry}, {where}".removesuffix(", ")
        yield from heading(title, told.marks)
        yield Paragraph(_counts(legs))
        for path, hop in inputs.get(splitter.pk, ()):
            yield Paragraph(_at_input(path, hop), size=7.6, after=1)
        yield Grid(_columns(told), [_row(told, splitter, leg) for leg in legs])


def _columns(told: Told) -> tuple[Column, ...]:
    if not told.names.has_addresses:
        return _COLUMNS
    return (*_COLUMNS[:3], Column("Home", 34), *_COLUMNS[3:])


def _counts(legs: tuple[Leg, ...]) -> str:
    counted = dict.fromkeys(LegCondition.values, 0)
    for leg in legs:
        counted[leg.condition] += 1
    said = ", ".join(f"{count} {condition}" for condition, count in counted.items() if count)
    return f"{len(legs)} legs: {said}."


def _inputs(told: Told) -> dict[int, list[tuple[Path, Hop]]]:
    """Return the inputs by which light enters each splitter, with the light there."""
    found: dict[int, dict[tuple[int, int], tuple[Path, Hop]]] = {}
    for home in told.built.homes:
        for path in home.paths:
            for hop in path.hops:
                if hop.spot.role == Role.INPUT and hop.spot.equipment_id is not None:
                    key = (hop.spot.number, path.lit.channel_id)
                    found.setdefault(hop.spot.equipment_id, {})[key] = path, hop
    return {pk: [at[key] for key in sorted(at)] for pk, at in found.items()}


def _at_input(path: Path, hop: Hop) -> str:
    level = hop.level
    return (
        f"At input {hop.spot.number}: {path.lit.name}, {dbm(level.typical_dbm)} expected "
        f"({number(level.least_dbm)} to {number(level.most_dbm)})."
    )


def _row(told: Told, splitter: Equipment, leg: Leg) -> Row:
    is_spare = leg.condition == LegCondition.SPARE
    home = (told.names.home_of(leg) or NONE,) if told.names.has_addresses else ()
    return row(
        Cell(str(leg.number), is_bold=is_spare),
        Cell(leg.condition, is_bold=is_spare),
        leg.line or NONE,
        *home,
        told.names.point(leg.joined_to_id, splitter.place) or NONE,
        levels_of(leg.lit) or "no light",
        NONE if leg.measured_loss_db is None else db(leg.measured_loss_db),
        told.names.said(leg.barred_reason),
    )
