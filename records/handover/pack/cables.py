"""The cable list, and the fibres of each cable with their colours, conditions and joints."""

from collections import Counter
from collections.abc import Iterator

from reportlab.platypus import Flowable

from records.handover.figures import db, metres
from records.handover.pack.grid import Cell, Column, Grid, Row, band, row
from records.handover.pack.pages import heading
from records.handover.pack.told import Told
from records.handover.pack.words import NONE
from records.models import Cable, CableKind
from records.queries.cables import End, FibreOf
from records.queries.words import counted

ABOUT = "type, length, both ends; every fibre with its condition"

CONDITIONS = ("used", "available", "unterminated", "damaged")

_LIST = (
    Column("Name", 22),
    Column("Type", 34),
    Column("Length", 15, "right"),
    Column("A end", 28),
    Column("B end", 28),
    *(Column(each, 4 + 1.35 * len(each), "right") for each in CONDITIONS),
)
_FIBRES = (
    Column("Fibre", 8, "right"),
    Column("Colour", 34),
    Column("Condition", 23),
    Column("A end joined to", 42),
    Column("B end joined to", 42),
    Column("Measured", 17),
    Column("Remark", 20),
)
_FEW = 2
"""Fibres of a cord or drop, told by themselves only where one is damaged."""


def section(told: Told) -> Iterator[Flowable]:
    """Yield the list, then the fibres of each cable that has many, or a damaged one."""
    if not told.built.cables:
        return
    yield Grid(_LIST, list(_rows(told)))
    for cable, fibres in told.built.cables:
        if len(fibres) > _FEW or any(each.damage for each in fibres):
            yield from heading(f"Fibres of {told.names.cable(cable)}", told.marks)
            yield Grid(_FIBRES, [_fibre(told, cable, each) for each in fibres])


def _rows(told: Told) -> Iterator[Row]:
    """Yield cables before cords, those of many fibres first."""
    for kind, title in ((CableKind.CABLE, "Cables"), (CableKind.CORD, "Patch cords")):
        of_kind = [each for each in told.built.cables if each[0].kind == kind]
        if of_kind:
            yield band(title)
        for cable, fibres in sorted(of_kind, key=lambda each: -each[0].fibre_count):
            yield _listed(told, cable, fibres)


def _listed(told: Told, cable: Cable, fibres: tuple[FibreOf, ...]) -> Row:
    states = Counter(each.condition for each in fibres)
    scheme = f", {cable.colour_scheme}" if cable.colour_scheme else ""
    many = counted(cable.fibre_count, "fibre")
    return row(
        Cell(told.names.cable(cable), is_bold=True),
        f"{cable.entry}, {many}{scheme}",
        metres(cable.length_m),
        told.names.where(cable.a_place),
        "the same" if cable.a_place == cable.b_place else told.names.where(cable.b_place),
        *(str(states[each] or NONE) for each in CONDITIONS),
    )


def _fibre(told: Told, cable: Cable, fibre: FibreOf) -> Row:
    return row(
        str(fibre.number),
        fibre.colour or NONE,
        Cell(fibre.condition, is_bold=fibre.condition != "used"),
        _end(told, fibre.a_end),
        _end(told, fibre.b_end),
        "\n".join(_measured(cable, fibre)) or NONE,
        told.names.said(fibre.damage),
    )


def _end(told: Told, end: End) -> str:
    if end.joined_to_id is not None:
        return told.names.point(end.joined_to_id)
    return f"open, {end.polish} connector" if end.polish else "open, bare"


def _measured(cable: Cable, fibre: FibreOf) -> Iterator[str]:
    if fibre.measured_loss_db is not None:
        yield db(fibre.measured_loss_db)
    if fibre.length_m != cable.length_m:
        yield metres(fibre.length_m)
