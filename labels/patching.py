"""What is patched in a cupboard at present, by numbers only: the rows of its neutral sheet."""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from django.db.models import Q, QuerySet

from labels.neutral_names import PLATED, NeutralNames
from labels.neutral_sheet import Cupboard, Patch, SheetWords
from labels.walking import walks
from records.models import (
    FIBRE_ENDS,
    Cable,
    CableKind,
    Equipment,
    JointEnd,
    Place,
    Point,
    PrintRun,
    Role,
)
from records.models.tag_code import grouped
from records.queries.legs import after_all_inside
from records.queries.prints import Holder, by_noun, newest_codes
from records.queries.words import natural

WORDS: Final = SheetWords(columns=("Box", "Port", "Cable", "Fibre", "To"))
_UNNAMED: Final = "\N{EN DASH}"


class _Connection(NamedTuple):
    """Two points made one, or the two ports that a cord patches."""

    one: Point
    other: Point
    cord: Cable | None = None
    stands_in: Equipment | None = None
    tray: str = ""


def plate_of(place: Place) -> str:
    """Return what stands on a place's own plate: a name that is no address, else its code."""
    name = NeutralNames([place]).plate(place).name
    if name:
        return name
    holder = Holder("place", place.pk)
    code = newest_codes(by_noun([holder])).get(holder)
    return grouped(code) if code else _UNNAMED


def cupboard(place: Place) -> Cupboard:
    """Return a place as its neutral sheet shows it."""
    return Cupboard(plate_of(place), patches_in(place))


def cupboards_in(place: Place) -> list[Cupboard]:
    """Return the cupboards of a place and all inside it, in the order of a walk."""
    return _walked(
        Place.objects.filter(path__gte=place.path, path__lt=after_all_inside(place), retired=False)
    )


def cupboards_of(run: PrintRun) -> list[Cupboard]:
    """Return the cupboards that the labels of a run belong in, in the order of a walk."""
    return _walked(plated_of(run))


def plated_of(run: PrintRun) -> "QuerySet[Place]":
    """Return the places with a plate that the labels of a run belong in."""
    found: QuerySet[Place] = Place.objects.filter(
        pk__in=run.labels.values("place"), kind__in=PLATED
    )
    return found


def _walked(places: "QuerySet[Place]") -> list[Cupboard]:
    found = list(places.filter(kind__in=PLATED))
    walk = walks(found)
    return [cupboard(place) for place in sorted(found, key=lambda place: walk[place.pk])]


def patches_in(place: Place) -> list[Patch]:
    """Return each connection in a place once, box by box, with a fixed number of queries."""
    found = list(_connections(place))
    words = _Words(found)
    rows = [words.patch(each, place) for each in found]
    return sorted(rows, key=lambda row: (natural(row.panel), natural(row.port), row.cable))


def _connections(place: Place) -> Iterator[_Connection]:
    here = JointEnd.objects.filter(
        Q(point__equipment__place=place) | Q(joint__stands_in__place=place)
    )
    pairs = _pairs(_ends(Q(joint__in=here.values("joint"))))
    cords = {}
    for one, other in pairs:
        cord_end = next((end for end in (one, other) if _cord_of(end.point)), None)
        if cord_end is None:
            joint = one.joint
            yield _Connection(one.point, other.point, None, joint.stands_in, joint.tray)
        else:
            port = other if cord_end is one else one
            cords[cord_end.point.passage_id, cord_end.point.side] = port.point
    yield from _patched(cords)


def _patched(near: dict[tuple[int | None, int], Point]) -> Iterator[_Connection]:
    """Yield the ports that cords patch, each cord once, by the ports known of their near ends."""
    passages = {passage for passage, _side in near}
    pairs = _pairs(_ends(Q(joint__ends__point__passage__in=passages)))
    ports: dict[int | None, dict[int, Point]] = {}
    cords = {}
    for one, other in pairs:
        for end, mate in ((one, other), (other, one)):
            if end.point.passage_id in passages and _cord_of(end.point):
                ports.setdefault(end.point.passage_id, {})[end.point.side] = mate.point
                cords[end.point.passage_id] = _cord_of(end.point)
    for passage, by_side in ports.items():
        sides = sorted(by_side, key=lambda side: ((passage, side) not in near, side))
        first = by_side[sides[0]]
        yield _Connection(first, by_side[sides[-1]], cords[passage])


def _ends(which: Q) -> "QuerySet[JointEnd]":
    found = JointEnd.objects.filter(which).select_related(
        "joint__stands_in__place",
        "point__equipment__place",
        "point__passage__cable__a_place",
        "point__passage__cable__b_place",
    )
    return found.order_by("joint", "side").distinct()


def _pairs(ends: Iterable[JointEnd]) -> Iterator[tuple[JointEnd, JointEnd]]:
    waiting: dict[int, JointEnd] = {}
    for end in ends:
        first = waiting.pop(end.joint_id, None)
        if first is None:
            waiting[end.joint_id] = end
        else:
            yield first, end


def _cord_of(point: Point) -> Cable | None:
    cable = point.passage.cable if point.passage else None
    return cable if cable is not None and cable.kind == CableKind.CORD else None


class _Words:
    """How points are named on the sheet: by numbers, and names that are no addresses."""

    def __init__(self, connections: Iterable[_Connection]) -> None:
        """Read once what the boxes and cables around may be called."""
        boxes: dict[int, Equipment] = {}
        places: dict[int, Place] = {}
        for each in connections:
            for owner in (each.one.equipment, each.other.equipment, each.stands_in):
                if owner is not None:
                    boxes[owner.pk] = owner
                    places[owner.place_id] = owner.place
            for point in (each.one, each.other):
                cable = point.passage.cable if point.passage else None
                for place in (cable.a_place, cable.b_place) if cable else ():
                    places[place.pk] = place
            if each.cord is not None:
                for place in (each.cord.a_place, each.cord.b_place):
                    places[place.pk] = place
        self._neutral = NeutralNames(places.values())
        self._codes = newest_codes({"equipment": boxes})

    def patch(self, each: _Connection, place: Place) -> Patch:
        """Return a connection as a row, seen from its port in this place."""
        one, other = each.one, each.other
        if _stands_in(other, place) and not _stands_in(one, place):
            one, other = other, one
        if each.cord is not None:
            cable, fibre, to = self._cable(each.cord), "", self._port(other)
            if one == other:
                to = _UNNAMED  # the cord's other end hangs free
        elif other.role in FIBRE_ENDS:
            cable, fibre = self._fibre(other)
            to = " ".join(self._fibre(one)) if one.role in FIBRE_ENDS else ""
        else:
            cable, fibre, to = "", "", self._port(other)
        box = one.equipment or each.stands_in
        return Patch(
            panel=self._box(box) if box else _UNNAMED,
            port=_port_number(one) if one.equipment else f"tray {each.tray}".removesuffix(" "),
            cable=cable,
            fibre=fibre,
            leg=to,
        )

    def _port(self, point: Point) -> str:
        if point.equipment is None:
            return " ".join(self._fibre(point))
        return f"{self._box(point.equipment)} {_port_number(point)}"

    def _box(self, box: Equipment) -> str:
        name = self._neutral.of(box.name, box.place)
        code = self._codes.get(Holder("equipment", box.pk))
        return name or (grouped(code) if code else _UNNAMED)

    def _fibre(self, point: Point) -> tuple[str, str]:
        passage = point.passage
        if passage is None or passage.cable is None:
            raise ValueError(f"{point} is no fibre end")
        return self._cable(passage.cable), str(passage.number)

    def _cable(self, cable: Cable) -> str:
        return self._neutral.of_cable(cable) or _UNNAMED


def _stands_in(point: Point, place: Place) -> bool:
    return point.equipment is not None and point.equipment.place_id == place.pk


def _port_number(point: Point) -> str:
    return f"{Role(point.role).label} {point.number}"
