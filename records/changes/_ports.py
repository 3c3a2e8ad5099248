"""Which passages and ports each kind of equipment has."""

from collections.abc import Callable
from typing import NamedTuple

from records.models import (
    CatalogueEntry,
    EquipmentKind,
    LegCondition,
    Passage,
    Point,
    Role,
)
from records.models import Equipment as Owner

_SIDES = {
    Role.INPUT: 0,
    Role.BACK: 0,
    Role.BRANCH: 0,
    Role.LEG: 1,
    Role.FRONT: 1,
    Role.COMMON: 1,
}


class Parts(NamedTuple):
    """The passages and points to create."""

    passages: list[Passage]
    points: list[Point]


def passages_and_ports(owner: Owner, count: int, polish: str, back_polish: str) -> Parts:
    """Return the unsaved passages and ports of an equipment.

    `count` is the number of PON ports or adapters; a splitter's and a coupler's follow from their
    entry.
    """
    return _BUILDERS[EquipmentKind(owner.kind)](owner, count, polish, back_polish)


def _lone(role: Role) -> Callable[[Owner, int, str, str], Parts]:
    def build(owner: Owner, count: int, polish: str, _back_polish: str) -> Parts:
        ports = [
            Point(equipment=owner, role=role, number=number, polish=polish)
            for number in range(1, count + 1)
        ]
        return Parts([], ports)

    return build


def _adapters(owner: Owner, count: int, polish: str, back_polish: str) -> Parts:
    parts = Parts([], [])
    for number in range(1, count + 1):
        passage = Passage(equipment=owner, number=number, entry=_entry(owner))
        parts.passages.append(passage)
        parts.points.append(_port(passage, Role.BACK, number=number, polish=back_polish))
        parts.points.append(_port(passage, Role.FRONT, number=number, polish=polish))
    return parts


def _splitter(owner: Owner, _count: int, polish: str, _back_polish: str) -> Parts:
    entry = _entry(owner)
    passage = Passage(equipment=owner, number=1, entry=entry)
    inputs = _row(passage, Role.INPUT, entry.inputs, polish)
    legs = _row(passage, Role.LEG, entry.outputs, polish)
    for leg in legs:
        leg.condition = LegCondition.SPARE
    return Parts([passage], inputs + legs)


def _coupler(owner: Owner, _count: int, polish: str, _back_polish: str) -> Parts:
    entry = _entry(owner)
    passage = Passage(equipment=owner, number=1, entry=entry)
    branches = _row(passage, Role.BRANCH, max(entry.inputs, entry.outputs), polish)
    return Parts([passage], branches + _row(passage, Role.COMMON, 1, polish))


def _row(passage: Passage, role: Role, count: int, polish: str) -> list[Point]:
    return [_port(passage, role, number=number, polish=polish) for number in range(1, count + 1)]


def _port(passage: Passage, role: Role, *, number: int, polish: str) -> Point:
    return Point(
        passage=passage,
        equipment=passage.equipment,
        role=role,
        side=_SIDES[role],
        number=number,
        polish=polish,
    )


def _none(_owner: Owner, _count: int, _polish: str, _back_polish: str) -> Parts:
    return Parts([], [])


def _entry(owner: Owner) -> CatalogueEntry:
    if owner.entry is None:
        raise ValueError(f"A {owner.kind} without a catalogue entry has no passages.")
    return owner.entry


_BUILDERS: dict[EquipmentKind, Callable[[Owner, int, str, str], Parts]] = {
    EquipmentKind.OLT: _lone(Role.PON),
    EquipmentKind.TERMINAL: _lone(Role.TERMINAL),
    EquipmentKind.PANEL: _adapters,
    EquipmentKind.OUTLET: _adapters,
    EquipmentKind.ATTENUATOR: _adapters,
    EquipmentKind.SPLITTER: _splitter,
    EquipmentKind.COUPLER: _coupler,
    EquipmentKind.CLOSURE: _none,
}
