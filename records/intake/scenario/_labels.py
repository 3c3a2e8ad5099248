"""Chapter four: the labels, printed and stuck, some of them seen since, and a roll for later."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from records.changes import OpenChange, sightings, tags
from records.intake.scenario._diary import Diary, equipment, place
from records.models import (
    Cable,
    Equipment,
    EquipmentKind,
    Place,
    PlaceKind,
    Point,
    PrintRun,
    Role,
    Tag,
)

BLANKS = 80
SPLITTERS = ("S-A1", "S-A2", "S-B0", "S-B1", "S-B2", "S-B3", "S-B4", "S-C1", "S-C2")
SEEN = ("S-A1", "S-B0", "S-C1")


class Printer(Protocol):
    """What prints labels: documents are laid out beside the intake, not by it."""

    def things(
        self,
        change: OpenChange,
        chosen: str,
        *,
        places: Sequence[int] = (),
        equipment: Sequence[int] = (),
        points: Sequence[int] = (),
        cables: Sequence[int] = (),
    ) -> PrintRun:
        """Print the labels of these things and record the run."""

    def blanks(self, change: OpenChange, count: int) -> PrintRun:
        """Print blank tags and record the run."""


def build(diary: Diary, printer: Printer) -> None:
    """Print the labels of ports, legs, cupboards and the feeder's ends, then blank tags."""
    with diary.day(29, "Head-end, cupboards and feeder labelled") as change:
        printer.things(
            change,
            "Alder Court: head-end, cupboards and feeder",
            places=_places(),
            equipment=_equipment(),
            points=_ports("OLT1", Role.PON),
            cables=[Cable.objects.get(name="F1").pk],
        )
    with diary.day(28, "Splitter legs labelled") as change:
        legs = [pk for name in SPLITTERS for pk in _ports(name, Role.LEG)]
        printer.things(change, "Alder Court: splitter legs", points=legs)
    with diary.day(27, f"First roll of {BLANKS} blank tags printed") as change:
        run = printer.blanks(change, BLANKS)
    with diary.day(26, "A blank tag torn while sticking") as change:
        torn = run.labels.select_related("tag").order_by("position")[0].tag
        tags.void(change, torn.code if torn else "", why="torn while sticking")
    legs = [pk for name in SEEN for pk in _ports(name, Role.LEG)]
    for tag in Tag.objects.filter(point__in=legs):
        sightings.see(tag, by=change.actor, at=change.at)


def _places() -> list[int]:
    cupboards = Place.objects.filter(kind=PlaceKind.CUPBOARD).order_by("path")
    others = (place(name) for name in ("Head-end", "Chamber 1", "Chamber 2"))
    return [*cupboards.values_list("pk", flat=True), *others]


def _equipment() -> list[int]:
    kinds = (EquipmentKind.PANEL, EquipmentKind.SPLITTER, EquipmentKind.CLOSURE)
    return list(Equipment.objects.filter(kind__in=kinds).values_list("pk", flat=True))


def _ports(name: str, role: Role) -> list[int]:
    found: Iterable[int] = (
        Point.objects.filter(equipment=equipment(name), role=role)
        .order_by("number")
        .values_list("pk", flat=True)
    )
    return list(found)
