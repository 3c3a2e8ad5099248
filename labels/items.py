"""The things of the record that can have a label, and what each label says.

In a home only the line's identifier is shown, on the outlet, and beside the terminal's own name;
a name that repeats an address is left out (neutral_names.py). Every query here answers for many
things at once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Final, NamedTuple, TypeVar

from django.db.models import Count, Manager, Model, QuerySet

from labels.item import Item, Plate
from labels.neutral_names import PLATED, NeutralNames
from labels.walking import Walk, walks
from records.models import (
    Cable,
    CableKind,
    Equipment,
    EquipmentKind,
    Joint,
    Line,
    Place,
    Point,
    Role,
)
from records.models.tag_code import grouped
from records.queries.names import addresses, cable_name
from records.queries.prints import AnyHolder, newest_codes
from records.queries.words import counted, natural

M = TypeVar("M", bound=Model)

CORD_DIAMETER_MM: Final = 3.0
"""Outer diameter of a cord or drop where none is recorded. Common practice."""

WRAP_FROM_MM: Final = 5.0
"""Diameter from which a cable gets a wrap rather than a flag. Common practice."""

CABLE_LABELS: Final[Mapping[str, str]] = {
    "": "wraps on thick cables, flags on thin ones",
    "cable_flag": "flags, with a QR",
    "cable_wrap": "wraps under a clear tail",
}
"""What cables get, as the form offers it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Things:
    """The things to look for labels of. `ends_in` leaves out cable ends in other places."""

    places: "QuerySet[Place] | None" = None
    equipment: "QuerySet[Equipment] | None" = None
    points: "QuerySet[Point] | None" = None
    cables: "QuerySet[Cable] | None" = None
    lines: "QuerySet[Line] | None" = None
    ends_in: Place | None = None
    cable_label: str = ""


def items_of(things: Things) -> list[Item]:
    """Return the items of some things, with the codes that hang on them; in no order."""
    found = _Found(things)
    return [
        *found.cupboards(),
        *found.boxes(),
        *found.trays(),
        *found.ports(),
        *found.cable_ends(),
        *found.lines(),
    ]


class _PortRow(NamedTuple):
    id: int
    role: str
    number: int
    equipment_id: int


_PORT_ORDER: Final = (Role.PON, Role.INPUT, Role.LEG, Role.COMMON, Role.BRANCH, Role.FRONT)
"""The ports that get labels. The back of an adapter is behind its front."""

_PLACE_IN_ORDER: Final = {role.value: order for order, role in enumerate(_PORT_ORDER)}


class _PortWords(NamedTuple):
    what: str
    title: str
    large: str
    """What is printed large: a leg's or adapter's bare number, else the role too."""

    @classmethod
    def of(cls, role: Role) -> "_PortWords":
        what = "leg" if role == Role.LEG else "port"
        large = {Role.PON: "PON {}", Role.INPUT: "IN {}", Role.COMMON: "COM"}.get(role, "{}")
        return cls(what, str(role.label), large)


_PORT_WORDS: Final = tuple(map(_PortWords.of, _PORT_ORDER))

_BOX_KINDS: Final = {
    EquipmentKind.SPLITTER: "splitter",
    EquipmentKind.CLOSURE: "closure",
    EquipmentKind.TERMINAL: "terminal",
}

_AT_CUPBOARD, _AT_BOX, _AT_CABLE = range(3)
"""In one place the cupboard comes first, then its boxes, then cables."""

_ON_BOX, _ON_TRAY, _ON_PORT = range(3)


class _Found:
    """The rows of some things, and what is said around them, each read once."""

    def __init__(self, things: Things) -> None:
        self._things = things
        self._places = list(_or_none(Place.objects, things.places).filter(kind__in=PLATED))
        self._boxes = list(
            _or_none(Equipment.objects, things.equipment).select_related("place", "entry")
        )
        self._cables = list(
            _or_none(Cable.objects, things.cables).select_related("a_place", "b_place")
        )
        self._lines = list(_or_none(Line.objects, things.lines).select_related("place"))
        self._ports = list(_port_rows(_or_none(Point.objects, things.points)))
        self._owners = {each.pk: each for each in self._boxes}
        strangers = {port.equipment_id for port in self._ports} - self._owners.keys()
        if strangers:
            self._owners |= Equipment.objects.select_related("place", "entry").in_bulk(strangers)

    @cached_property
    def _around(self) -> list[Place]:
        """Return every place whose words matter."""
        found = {place.pk: place for place in self._places}
        found |= {each.place_id: each.place for each in self._owners.values()}
        found |= {line.place_id: line.place for line in self._lines}
        for cable in self._cables:
            found |= {cable.a_place_id: cable.a_place, cable.b_place_id: cable.b_place}
        return list(found.values())

    @cached_property
    def _neutral(self) -> NeutralNames:
        return NeutralNames(self._around)

    @cached_property
    def _where(self) -> dict[int, str]:
        return addresses(self._around)

    @cached_property
    def _walks(self) -> dict[int, Walk]:
        return walks(self._around)

    @cached_property
    def _codes(self) -> Mapping[AnyHolder, str]:
        return newest_codes(
            {
                "place": [place.pk for place in self._around],
                "equipment": [each.pk for each in self._boxes],
                "point": [port.id for port in self._ports],
                "cable": [cable.pk for cable in self._cables],
            }
        )

    def _code(self, noun: str, thing: int, cable_end: str = "") -> str:
        return self._codes.get((noun, thing, cable_end), "")

    def _quoted(self, plates: Mapping[str, Plate]) -> dict[str, str]:
        """Return what stands on plates, by the field that quotes them: a name, or a code."""
        return {
            field: plate.name or grouped(self._code("place", plate.place_id)).strip("-")
            for field, plate in plates.items()
        }

    def cupboards(self) -> Iterator[Item]:
        """Yield the places that have a plate of their own."""
        for place in self._places:
            yield Item(
                what="cupboard",
                kind="cupboard",
                noun="place",
                thing_id=place.pk,
                name=f"{place.get_kind_display()} {place.name}",
                where=self._where[place.pk],
                place_id=place.pk,
                fields={"name": self._neutral.of(place.name, place)},
                code=self._code("place", place.pk),
                walk=(self._walks[place.pk], _AT_CUPBOARD),
            )

    def boxes(self) -> Iterator[Item]:
        """Yield the labels of equipment; an outlet in a home shows its lines and nothing else."""
        sizes = _port_counts(each.pk for each in self._boxes)
        lines = _lines_by_home(each.place_id for each in self._boxes if each.place.is_dwelling)
        for each in self._boxes:
            if _is_home_outlet(each):
                for line in lines.get(each.place_id, ()):
                    yield self._home_outlet(line, each.place, self._walk_to(each), each.name)
            else:
                yield self._box(each, sizes.get(each.pk, 0), lines.get(each.place_id, ()))

    def _box(self, box: Equipment, port_count: int, lines: Iterable[Line]) -> Item:
        kind = _BOX_KINDS.get(EquipmentKind(box.kind), "panel")
        is_home = box.place.is_dwelling
        fields = {"name": self._neutral.of(box.name, box.place)}
        if kind == "terminal":
            # Else the terminals of a building have labels that look all the same.
            fields["line"] = ", ".join(line.identifier for line in lines)
        else:
            fields["size"] = _size(box, port_count)
        plates = {} if is_home else {"place_code": self._neutral.plate(box.place)}
        return Item(
            what="home" if is_home else "box",
            kind=kind,
            noun="equipment",
            thing_id=box.pk,
            name=f"{box.get_kind_display()} {box.name}",
            where=self._where[box.place_id],
            place_id=box.place_id,
            fields=fields | self._quoted(plates),
            plates=_nameless(plates),
            code=self._code("equipment", box.pk),
            walk=(*self._walk_to(box), _ON_BOX),
        )

    def _home_outlet(self, line: Line, home: Place, walk: Walk, outlet: str = "") -> Item:
        return Item(
            what="home",
            kind="home_outlet",
            noun="line",
            thing_id=line.pk,
            name=f"outlet {outlet}, line {line}" if outlet else f"outlet of line {line}",
            where=self._where[home.pk],
            place_id=home.pk,
            fields={"line": line.identifier},
            walk=(*walk, _ON_BOX, 0, tuple(natural(line.identifier))),
        )

    def lines(self) -> Iterator[Item]:
        """Yield the labels of lines asked for by themselves."""
        for line in self._lines:
            yield self._home_outlet(line, line.place, (self._walks[line.place_id], _AT_BOX, ()))

    def trays(self) -> Iterator[Item]:
        """Yield a plate for each tray on which a joint is recorded; it carries its box's tag."""
        boxes = {each.pk: each for each in self._boxes if not each.place.is_dwelling}
        used = Joint.objects.filter(stands_in__in=boxes).exclude(tray="")
        for box_id, tray in set(used.values_list("stands_in_id", "tray")):
            box = boxes[box_id or 0]
            yield Item(
                what="tray",
                kind="tray",
                noun="equipment",
                thing_id=box.pk,
                tray=tray,
                name=f"tray {tray} of {box.name}",
                where=self._where[box.place_id],
                place_id=box.place_id,
                fields={
                    "number": f"TRAY {tray}" if tray[:1].isdecimal() else tray,
                    "equipment": self._neutral.of(box.name, box.place),
                },
                code=self._code("equipment", box.pk),
                walk=(*self._walk_to(box), _ON_TRAY, 0, tuple(natural(tray))),
            )

    def ports(self) -> Iterator[Item]:
        """Yield the labels of ports and legs box by box, those in homes left out."""
        of_box: dict[int, list[_PortRow]] = {}
        for port in self._ports:
            of_box.setdefault(port.equipment_id, []).append(port)
        outside = [self._owners[pk] for pk in of_box if not self._owners[pk].place.is_dwelling]
        for box in sorted(outside, key=self._walk_to):
            yield from self._ports_of(box, of_box[box.pk])

    def _ports_of(self, box: Equipment, ports: Iterable[_PortRow]) -> Iterator[Item]:
        """Yield the labels of one box's ports; what they say alike is worked out once."""
        walk, where = self._walk_to(box), self._where[box.place_id]
        plates = {"place_code": self._neutral.plate(box.place)}
        shared = {"equipment": self._neutral.of(box.name, box.place), **self._quoted(plates)}
        nameless = _nameless(plates)
        for order, number, pk in sorted(map(_in_port_order, ports)):
            what, title, large = _PORT_WORDS[order]
            yield Item(
                what=what,
                kind=what,
                noun="point",
                thing_id=pk,
                name=f"{title} {number} of {box.name}",
                where=where,
                place_id=box.place_id,
                fields={"number": large.format(number), **shared},
                plates=nameless,
                code=self._code("point", pk),
                walk=(*walk, _ON_PORT, order, number),
            )

    def _walk_to(self, box: Equipment) -> Walk:
        return (self._walks[box.place_id], _AT_BOX, tuple(natural(box.name)))

    def cable_ends(self) -> Iterator[Item]:
        """Yield the labels of cable ends, only those inside a place where one is given."""
        ends_in = self._things.ends_in
        for cable in self._cables:
            if cable.a_place_id == cable.b_place_id and cable.a_place.is_dwelling:
                continue  # what lies in a home is its owner's to mark
            for end, near, far in (
                ("A", cable.a_place, cable.b_place),
                ("B", cable.b_place, cable.a_place),
            ):
                if ends_in is None or near.path.startswith(ends_in.path):
                    yield self._cable_end(cable, end, near, far)

    def _cable_end(self, cable: Cable, end: str, near: Place, far: Place) -> Item:
        diameter_mm, note = _diameter_mm(cable)
        by_size = "cable_wrap" if diameter_mm >= WRAP_FROM_MM else "cable_flag"
        plates = self._plates_of(near, far)
        return Item(
            what="cable",
            kind=self._things.cable_label or by_size,
            noun="cable",
            thing_id=cable.pk,
            cable_end=end,
            name=f"{end} end of {cable_name(cable)}",
            where=self._where[near.pk],
            place_id=near.pk,
            fields={
                "name": self._neutral.of_cable(cable),
                "end": end,
                "size": f"{cable.fibre_count}F",
                **self._quoted(plates),
            },
            plates=_nameless(plates),
            code=self._code("cable", cable.pk, end),
            diameter_mm=diameter_mm,
            note=note,
            walk=(self._walks[near.pk], _AT_CABLE, tuple(natural(cable.name)), cable.pk, end),
        )

    def _plates_of(self, near: Place, far: Place) -> dict[str, Plate]:
        """Return where both ends are; of a cord that stays in one place, that place once."""
        plates = {"near_end": self._neutral.plate(near)}
        if near.pk != far.pk:
            plates["far_end"] = self._neutral.plate(far)
        return plates


def _nameless(plates: Mapping[str, Plate]) -> dict[str, Plate]:
    """Return the plates of which the code is quoted, known only later."""
    return {field: plate for field, plate in plates.items() if not plate.name}


def _or_none(things: "Manager[M]", rows: "QuerySet[M] | None") -> "QuerySet[M]":
    return things.none() if rows is None else rows


def _port_rows(points: "QuerySet[Point]") -> Iterator[_PortRow]:
    found = points.filter(role__in=_PORT_ORDER, equipment__isnull=False)
    for row in found.values_list("pk", "role", "number", "equipment_id"):
        yield _PortRow(*row)


def _in_port_order(port: _PortRow) -> tuple[int, int, int]:
    """Return a port's role by its place in the order, its number and its id."""
    return _PLACE_IN_ORDER[port.role], port.number, port.id


def _port_counts(boxes: Iterable[int]) -> dict[int | None, int]:
    """Return how many ports of a box are used from outside: PON ports and adapters."""
    used = Point.objects.filter(equipment__in=list(boxes), role__in=(Role.PON, Role.FRONT))
    return dict(
        used.values("equipment").annotate(count=Count("pk")).values_list("equipment", "count")
    )


def _is_home_outlet(box: Equipment) -> bool:
    return box.kind == EquipmentKind.OUTLET and box.place.is_dwelling


def _lines_by_home(places: Iterable[int]) -> dict[int, list[Line]]:
    found: dict[int, list[Line]] = {}
    for line in Line.objects.filter(place__in=set(places)).order_by("pk"):
        found.setdefault(line.place_id, []).append(line)
    return found


def _size(box: Equipment, port_count: int) -> str:
    if box.kind in {EquipmentKind.SPLITTER, EquipmentKind.COUPLER} and box.entry:
        return box.entry.name
    return counted(port_count, "port") if port_count else ""


def _diameter_mm(cable: Cable) -> tuple[float, str]:
    """Return a cable's outer diameter, and what to say where none is recorded."""
    if cable.diameter_mm is not None:
        return float(Decimal(cable.diameter_mm)), ""
    if cable.kind == CableKind.CORD:
        return CORD_DIAMETER_MM, ""
    return CORD_DIAMETER_MM, (
        f"No diameter is recorded of {cable.name}: its label is made for {CORD_DIAMETER_MM:g} mm."
    )
