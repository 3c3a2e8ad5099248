"""Panels by their ports, and closures by their trays: what is joined to what, and how."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from records.handover.figures import db
from records.handover.pack.grid import Column, Grid, Row, row
from records.handover.pack.pages import heading
from records.handover.pack.told import Told
from records.handover.pack.words import NONE, levels_of
from records.models import EquipmentKind, Role
from records.queries.as_built import Box
from records.queries.equipment import JointIn, PortOf

ABOUT = "what each port and each tray joins"

_PANEL = (
    Column("Port", 10, "right"),
    Column("Connector", 18),
    Column("Back joined to", 60),
    Column("Front joined to", 60),
    Column("Expected, dBm", 30),
)
_PORTS = (
    Column("Port", 24),
    Column("Connector", 18),
    Column("Joined to", 80),
    Column("Expected, dBm", 30),
)
_JOINTS = (
    Column("Tray", 14),
    Column("Joint", 34),
    Column("One end", 54),
    Column("Other end", 54),
    Column("Loss measured", 22),
)


def section(told: Told) -> Iterator[Flowable]:
    """Yield the tables of each box."""
    for box in told.built.boxes:
        where = told.names.where(box.equipment.place)
        name = _named(told, box)
        yield from heading(f"{name}, {where}".removesuffix(", "), told.marks)
        if box.equipment.kind == EquipmentKind.PANEL:
            yield Grid(_PANEL, list(_panel(told, box)))
        elif box.ports:
            yield Grid(_PORTS, [_port(told, box, each) for each in box.ports])
        if box.joints:
            yield Grid(_JOINTS, [_joint(told, box, each) for each in box.joints])


def _named(told: Told, box: Box) -> str:
    """Return the kind and name of a box, the kind once."""
    kind, name = box.equipment.get_kind_display(), told.names.equipment(box.equipment)
    words = name if name.casefold().startswith(kind) else f"{kind} {name}"
    return words[:1].upper() + words[1:]


def _panel(told: Told, box: Box) -> Iterator[Row]:
    sides = {(each.number, each.role): each for each in box.ports}
    for number in sorted({each.number for each in box.ports}):
        back, front = sides.get((number, Role.BACK)), sides.get((number, Role.FRONT))
        yield row(
            str(number),
            front.polish if front else NONE,
            *(_joined(told, box, each) for each in (back, front)),
            levels_of(front.lit) if front else "",
        )


def _port(told: Told, box: Box, port: PortOf) -> Row:
    joined = _joined(told, box, port)
    return row(port.label, port.polish or "bare", joined, levels_of(port.lit))


def _joined(told: Told, box: Box, port: PortOf | None) -> str:
    return (told.names.point(port.joined_to_id, box.equipment.place) if port else "") or NONE


def _joint(told: Told, box: Box, joint: JointIn) -> Row:
    ends = (told.names.point(pk, box.equipment.place) for pk in (joint.one_id, joint.other_id))
    loss = NONE if joint.measured_loss_db is None else db(joint.measured_loss_db)
    kind = joint.kind if joint.entry == joint.kind else f"{joint.kind}, {joint.entry}"
    tray = told.names.mark(joint.tray, box.equipment.place)
    return row(tray or NONE, kind, *ends, loss)
