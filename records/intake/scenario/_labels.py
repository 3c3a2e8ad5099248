"""Chapter four: the labels, issued in one go and bound where they were stuck."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from records.changes import OpenChange, tags
from records.intake.scenario._diary import Diary, equipment, place
from records.models import Cable, Equipment, EquipmentKind, Place, PlaceKind, Point, Role

ISSUED = 300


class _Stuck(NamedTuple):
    noun: str
    thing: int
    cable_end: str = ""


def build(diary: Diary, codes: Iterable[str]) -> None:
    """Issue the codes and bind them to ports, legs, cupboards and the feeder's ends."""
    with diary.day(30, f"First roll of {ISSUED} labels printed") as change:
        fresh = [tag.code for tag in tags.issue(change, count=ISSUED, candidates=codes)]
    with diary.day(29, "Head-end, cupboards and feeder labelled") as change:
        outside = [*_places(), *_equipment(), *_ports("OLT1", Role.PON), *_feeder_ends()]
        for stuck in outside:
            _bind(change, fresh.pop(0), stuck)
    with diary.day(28, "Splitter legs labelled") as change:
        for name in ("S-A1", "S-A2", "S-B0", "S-B1", "S-B2", "S-B3", "S-B4", "S-C1", "S-C2"):
            for stuck in _ports(name, Role.LEG):
                _bind(change, fresh.pop(0), stuck)
    with diary.day(27, "A label torn off while sticking") as change:
        tags.void(change, fresh.pop(0), why="torn while sticking")


def _bind(change: OpenChange, code: str, stuck: _Stuck) -> None:
    tags.bind(change, code, noun=stuck.noun, thing=stuck.thing, cable_end=stuck.cable_end)


def _places() -> Iterator[_Stuck]:
    cupboards = Place.objects.filter(kind=PlaceKind.CUPBOARD).order_by("path")
    yield from (_Stuck("place", cupboard.pk) for cupboard in cupboards)
    yield from (_Stuck("place", place(name)) for name in ("Head-end", "Chamber 1", "Chamber 2"))


def _equipment() -> Iterator[_Stuck]:
    kinds = (EquipmentKind.PANEL, EquipmentKind.SPLITTER, EquipmentKind.CLOSURE)
    for each in Equipment.objects.filter(kind__in=kinds).order_by("pk"):
        yield _Stuck("equipment", each.pk)


def _ports(name: str, role: Role) -> Iterator[_Stuck]:
    for each in Point.objects.filter(equipment=equipment(name), role=role).order_by("number"):
        yield _Stuck("point", each.pk)


def _feeder_ends() -> Iterator[_Stuck]:
    feeder = Cable.objects.get(name="F1")
    yield from (_Stuck("cable", feeder.pk, end) for end in ("A", "B"))
