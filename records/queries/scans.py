"""What a scanned or typed text stands for: a tag and its thing, or a line by its identifier."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from records.models import (
    Cable,
    Equipment,
    EquipmentKind,
    Line,
    Place,
    Point,
    Role,
    Tag,
)
from records.models.tag_code import TagCodeError, grouped, parse_scanned
from records.queries.tags import tag_of
from records.queries.things import described, named, tagged


class NotScannedError(Exception):
    """Say why a text stands for nothing here, and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scanned:
    """What a text stands for. A blank tag has no thing; a line that was typed has no tag."""

    tag: Tag | None
    noun: str
    thing: Any
    name: str

    @property
    def is_blank(self) -> bool:
        """Tell whether it is a tag that hangs on nothing yet."""
        return self.thing is None

    @property
    def key(self) -> str:
        """Return the text by which it is scanned again."""
        return grouped(self.tag.code) if self.tag else str(self.thing)


def scanned(text: str, hosts: Iterable[str]) -> Scanned:
    """Return what a text stands for; `hosts` are those that this record's labels lead to.

    Raises: NotScannedError.
    """
    try:
        tag = tag_of(_code(text, hosts))
    except TagCodeError as error:
        line = _line(text)
        if line is None:
            raise NotScannedError(str(error)) from error
        return _of_line(line)
    if tag is None:
        line = _line(text)
        if line is not None:
            return _of_line(line)
        raise NotScannedError(
            "No tag of this code was ever issued here. It may belong to another owner: leave it "
            "where it is, and check that you work on the right equipment."
        )
    if tag.voided:
        raise NotScannedError(
            f"Tag {grouped(tag.code)} is voided: {tag.voided}. Take the sticker off, destroy it, "
            "and put a blank tag in its place."
        )
    return _of_tag(tag)


def _code(text: str, hosts: Iterable[str]) -> str:
    """Return the code in a text that leads to any of the hosts; blame the first if to none."""
    faults = []
    for host in hosts:
        try:
            return parse_scanned(text, host)
        except TagCodeError as error:
            faults.append(error)
    raise faults[0]


def _of_tag(tag: Tag) -> Scanned:
    found = tagged(tag)
    noun, thing = found or ("", None)
    return Scanned(tag=tag, noun=noun, thing=thing, name=described(tag))


def _line(text: str) -> Line | None:
    return Line.objects.select_related("place").filter(identifier__iexact=text.strip()).first()


def _of_line(line: Line) -> Scanned:
    return Scanned(tag=None, noun="line", thing=line, name=f"line {line} of {named(line.place)}")


def points_of(found: Scanned) -> list[Point]:
    """Return the points at a scanned thing that something can be joined to, free ones only.

    A splitter stands for its inputs, an outlet and a terminal for their ports, the end of a cable
    for its fibres there.
    """
    thing = found.thing
    free = Point.objects.filter(joint_end__isnull=True).select_related(
        "equipment__place", "passage__cable"
    )
    if isinstance(thing, Point):
        return list(free.filter(pk=thing.pk))
    if isinstance(thing, Cable) and found.tag is not None:
        role = Role.A_END if found.tag.cable_end == "A" else Role.B_END
        return list(free.filter(passage__cable=thing, role=role).order_by("number"))
    if isinstance(thing, Equipment):
        return list(free.filter(_joinable(thing), equipment=thing).order_by("role", "number"))
    return []


def _joinable(thing: Equipment) -> Q:
    if thing.kind == EquipmentKind.SPLITTER:
        return Q(role=Role.INPUT)
    if thing.kind in {EquipmentKind.OUTLET, EquipmentKind.TERMINAL}:
        return Q(role__in=(Role.BACK, Role.FRONT, Role.TERMINAL))
    return Q(pk__in=())


def lines_of(found: Scanned) -> list[Line]:
    """Return the lines that a scanned thing stands for: a line, a dwelling, what is in one."""
    thing = found.thing
    if isinstance(thing, Line):
        return [thing]
    home = thing if isinstance(thing, Place) else None
    if isinstance(thing, Equipment):
        home = thing.place
    elif isinstance(thing, Point) and thing.equipment is not None:
        home = thing.equipment.place
    if home is None or not home.is_dwelling:
        return []
    return list(Line.objects.filter(place=home).order_by("pk"))
