"""The life of a thing: every change that touched it, its joints, bookings, readings or tags."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import F, Model, Q, QuerySet

from records.models import (
    KEPT,
    STILL,
    Booking,
    Cable,
    Change,
    Channel,
    Equipment,
    Joint,
    JointEnd,
    Line,
    Passage,
    Point,
    Reading,
    Tag,
)
from records.queries.history import Event, FieldChange, events
from records.queries.things import model_of

SHOWN = 200
"""How many of a thing's latest changes are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """A change that touched a thing.

    `what` and `fields` tell what it did to the thing's own row: began, altered or ended. Both are
    empty where it only touched what hangs on the thing.
    """

    change: Change
    what: str
    fields: tuple[FieldChange, ...]


def life(noun: str, thing_id: int) -> list[Happening]:
    """Return the latest changes that touched a thing, newest first, also of one since removed."""
    own: dict[int, Event] = {each.change.number: each for each in events(model_of(noun), thing_id)}
    numbers = set(own)
    for versions in _touching(noun, thing_id):
        numbers |= _numbers(versions)
    latest = sorted(numbers, reverse=True)[:SHOWN]
    changes = Change.objects.select_related("actor").in_bulk(latest)
    return [
        Happening(
            change=changes[number],
            what=own[number].what if number in own else "",
            fields=own[number].fields if number in own else (),
        )
        for number in latest
    ]


def latest_version(noun: str, thing_id: int) -> Any:
    """Return how a thing stands, or stood before it was removed; None if there never was one."""
    return KEPT[model_of(noun)].objects.of(thing_id).last()


def _numbers(versions: "QuerySet[Any]") -> set[int]:
    """Return the changes at which the latest of these versions began and ended."""
    seen = versions.filter(since__lt=F("until"))
    begun = seen.order_by("-since").values_list("since", flat=True)[:SHOWN]
    ended = seen.filter(until__lt=STILL).order_by("-until").values_list("until", flat=True)
    return {*begun, *ended[:SHOWN]}


def _versions(model: type[Model], **where: Any) -> "QuerySet[Any]":
    return KEPT[model].objects.filter(**where)


def _touching(noun: str, thing_id: int) -> Iterator["QuerySet[Any]"]:
    if noun in {"point", "equipment", "place", "line", "cable"}:
        yield _versions(Tag, **{f"{noun}_id": thing_id})
    if noun == "place":
        yield _versions(Equipment, place_id=thing_id)
        ends = Q(a_place_id=thing_id) | Q(b_place_id=thing_id)
        yield KEPT[Cable].objects.filter(ends)
        yield _versions(Line, place_id=thing_id)
    if noun == "line":
        yield _versions(Booking, line_id=thing_id)
    if noun == "equipment":
        yield _versions(Joint, stands_in_id=thing_id)
        yield _versions(Point, equipment_id=thing_id)
    if noun == "cable":
        yield _versions(Passage, cable_id=thing_id)
    if noun in {"point", "equipment", "cable"}:
        yield from _touching_points(_points(noun, thing_id))


def _points(noun: str, thing_id: int) -> "list[int]":
    if noun == "point":
        return [thing_id]
    versions = _versions(Point, equipment_id=thing_id)
    if noun == "cable":
        fibres = _versions(Passage, cable_id=thing_id).values("id")
        versions = _versions(Point, passage_id__in=fibres)
    return list(versions.values_list("id", flat=True).distinct())


def _touching_points(point_ids: list[int]) -> Iterator["QuerySet[Any]"]:
    yield _versions(JointEnd, point_id__in=point_ids)
    yield _versions(Booking, leg_id__in=point_ids)
    yield _versions(Channel, point_id__in=point_ids)
    yield _versions(Reading, point_id__in=point_ids)
