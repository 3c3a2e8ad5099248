"""The things of the record that can have a label, and what each label says."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from django.db.models import QuerySet

from labels.design import KINDS
from labels.neutral_names import NeutralNames, neutral_cable_name
from records.models import (
    FIBRE_ENDS,
    Cable,
    Equipment,
    EquipmentKind,
    Line,
    Place,
    PlaceKind,
    Point,
    Role,
)
from records.queries.names import addresses, cable_name, port_label
from records.queries.words import natural

CORD_DIAMETER_MM: Final = 3.0
"""Outer diameter of a cord or drop where none is recorded. Common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A thing that can have a label: what it is, where its label belongs, and what that says.

    `what` is one of WHAT. `code` is empty where none is bound yet; an item whose kind carries no
    code has `needs_code` false.
    """

    what: str
    noun: str
    thing_id: int
    cable_end: str = ""
    name: str
    where: str
    kind: str
    fields: Mapping[str, str]
    code: str = ""
    diameter_mm: float | None = None

    @property
    def key(self) -> str:
        """Return what names the item on a page: 'point-12', 'cable-7A'."""
        return f"{self.noun}-{self.thing_id}{self.cable_end}"

    @property
    def needs_code(self) -> bool:
        """Tell whether a code must be issued before the label can be printed."""
        return KINDS[self.kind].has_code and not self.code


WHAT: Final[Mapping[str, str]] = {
    "cupboard": "Cupboards, cabinets, chambers, poles",
    "box": "Splitters, panels, closures and other boxes",
    "leg": "Splitter legs",
    "port": "Other ports",
    "cable": "Cable ends, as flags",
    "home": "Outlets and terminals in homes",
}
"""The sorts of labels, in the order in which they are offered and printed."""


_CUPBOARDS: Final = (
    PlaceKind.CUPBOARD,
    PlaceKind.CABINET,
    PlaceKind.CHAMBER,
    PlaceKind.POLE,
    PlaceKind.HEAD_END,
)


def cupboards(places: "QuerySet[Place]") -> Iterator[Item]:
    """Yield the places that get a label themselves."""
    found = list(places.filter(kind__in=_CUPBOARDS))
    known = addresses(found)
    for place in found:
        yield Item(
            what="cupboard",
            noun="place",
            thing_id=place.pk,
            name=f"{place.get_kind_display()} {place.name}",
            where=known[place.pk],
            kind="cupboard",
            fields={"name": place.name},
        )


_KINDS: Final = {
    EquipmentKind.SPLITTER: "splitter",
    EquipmentKind.CLOSURE: "closure",
    EquipmentKind.TERMINAL: "terminal",
}


def boxes(equipment: "QuerySet[Equipment]") -> Iterator[Item]:
    """Yield the labels of equipment; an outlet in a home shows its lines and nothing else."""
    found = list(equipment.select_related("place", "entry").prefetch_related("ports"))
    found.sort(key=lambda each: natural(each.name))
    known = addresses({each.place for each in found})
    lines = _lines_by_home(each.place_id for each in found)
    neutral = NeutralNames(each.place for each in found)
    for each in found:
        where = known[each.place_id]
        if each.kind == EquipmentKind.OUTLET and each.place.is_dwelling:
            yield from (_outlet(line, each, where) for line in lines.get(each.place_id, ()))
            continue
        kind = _KINDS.get(EquipmentKind(each.kind), "panel")
        size = {} if kind == "terminal" else {"size": _size(each)}
        yield Item(
            what="home" if each.place.is_dwelling else "box",
            noun="equipment",
            thing_id=each.pk,
            name=f"{each.get_kind_display()} {each.name}",
            where=where,
            kind=kind,
            fields={"name": neutral.of(each), **size},
        )


def _outlet(line: Line, outlet: Equipment, where: str) -> Item:
    return Item(
        what="home",
        noun="line",
        thing_id=line.pk,
        name=f"outlet {outlet.name}, line {line}",
        where=where,
        kind="home_outlet",
        fields={"line": line.identifier},
    )


def _lines_by_home(places: Iterable[int]) -> dict[int, list[Line]]:
    found: dict[int, list[Line]] = {}
    for line in Line.objects.filter(place__in=set(places)).order_by("pk"):
        found.setdefault(line.place_id, []).append(line)
    return found


def _size(equipment: Equipment) -> str:
    if equipment.kind in {EquipmentKind.SPLITTER, EquipmentKind.COUPLER} and equipment.entry:
        return equipment.entry.name
    count = sum(port.role in {Role.PON, Role.FRONT} for port in equipment.ports.all())
    return f"{count} ports" if count else ""


_PORT_ORDER: Final = (Role.PON, Role.INPUT, Role.LEG, Role.COMMON, Role.BRANCH, Role.FRONT)
"""The ports that get labels. The back of an adapter is behind its front."""


def ports(points: "QuerySet[Point]") -> Iterator[Item]:
    """Yield the labels of ports and legs, those in homes left out."""
    found = list(
        points.exclude(role__in=FIBRE_ENDS)
        .filter(role__in=_PORT_ORDER)
        .select_related("equipment__place")
    )
    owners = {each.equipment for each in found if each.equipment}
    known = addresses({owner.place for owner in owners})
    neutral = NeutralNames(owner.place for owner in owners)
    found.sort(
        key=lambda each: (
            natural(each.equipment.name if each.equipment else ""),
            _PORT_ORDER.index(Role(each.role)),
            each.number,
        )
    )
    for point in found:
        owner = point.equipment
        if owner is None or owner.place.is_dwelling:
            continue
        is_leg = point.role == Role.LEG
        yield Item(
            what="leg" if is_leg else "port",
            noun="point",
            thing_id=point.pk,
            name=f"{port_label(point)} of {owner.name}",
            where=known[owner.place_id],
            kind="leg" if is_leg else "port",
            fields={"number": _number(point), "equipment": neutral.of(owner)},
        )


def _number(point: Point) -> str:
    """Return what is printed large: a leg's or adapter's bare number, else the role too."""
    if point.role in {Role.LEG, Role.FRONT, Role.BRANCH}:
        return str(point.number)
    return {Role.PON: "PON", Role.INPUT: "IN", Role.COMMON: "COM"}[Role(point.role)] + (
        "" if point.role == Role.COMMON else f" {point.number}"
    )


def cable_ends(cables: "QuerySet[Cable]", ends_in: Place | None) -> Iterator[Item]:
    """Yield the labels of cable ends, only those inside a place where one is given."""
    found = sorted(
        cables.select_related("a_place", "b_place"), key=lambda each: natural(each.name)
    )
    known = addresses({place for each in found for place in (each.a_place, each.b_place)})
    for cable in found:
        for end, place in (("A", cable.a_place), ("B", cable.b_place)):
            if ends_in is not None and not place.path.startswith(ends_in.path):
                continue
            yield Item(
                what="cable",
                noun="cable",
                thing_id=cable.pk,
                cable_end=end,
                name=f"{end} end of {cable_name(cable)}",
                where=known[place.pk],
                kind="cable_flag",
                fields={
                    "name": neutral_cable_name(cable),
                    "end": end,
                    "size": f"{cable.fibre_count}F",
                },
                diameter_mm=float(cable.diameter_mm or CORD_DIAMETER_MM),
            )
