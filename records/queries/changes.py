"""Changes: the latest ones, and what one of them did to light and bookings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet, TextField
from django.db.models.functions import Cast

from records.models import Change, Line
from records.queries.names import named_points

NAMED_MAX = 500
"""How many lit or darkened terminals of one change are told by name."""

_OF_LIGHT = ("lit", "darkened", "on_standby", "kept_lit", "interrupted")


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """A point that a change lit, darkened or booked; the name is empty if it is gone since."""

    point_id: int
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LightEffect:
    """What became of the light of some terminals: `lit`, `darkened`, `on_standby`, `kept_lit`.

    Those `interrupted` were dark only while the change was done.
    """

    what: str
    count: int
    terminals: tuple[Touched, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingEffect:
    """What became of the booking of a leg."""

    leg: Touched
    line_id: int | None
    line: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeAnswer:
    """A change and what it did, by name."""

    change: Change
    steps: tuple[str, ...]
    light: tuple[LightEffect, ...]
    bookings: tuple[BookingEffect, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which changes are asked for: whose, which verb, made from when to before when, how old.

    `before` is a change's number. A change of several verbs is of each of them.
    """

    actor_id: int | None = None
    verb: str = ""
    made_from: datetime | None = None
    made_before: datetime | None = None
    before: int | None = None


EVERYTHING = Wanted()


def chosen(changes: "QuerySet[Change]", wanted: Wanted) -> "QuerySet[Change]":
    """Return those of the changes that are wanted, newest first."""
    found = changes.select_related("actor", "job").order_by("-number")
    if wanted.before is not None:
        found = found.filter(number__lt=wanted.before)
    if wanted.actor_id is not None:
        found = found.filter(actor=wanted.actor_id)
    if wanted.made_from is not None:
        found = found.filter(at__gte=wanted.made_from)
    if wanted.made_before is not None:
        found = found.filter(at__lt=wanted.made_before)
    return of_verb(found, wanted.verb) if wanted.verb else found


SEVERAL = "several"
"""The verb of a change that has more than one."""


def of_verb(changes: "QuerySet[Change]", verb: str) -> "QuerySet[Change]":
    """Return those of the changes that have a verb, alone or among several."""
    told = changes.alias(told=Cast("effect", TextField()))
    among = Q(verb=SEVERAL, told__contains=f'"verb": "{verb}"')
    return told.filter(Q(verb=verb) | among)


def latest_changes(count: int, wanted: Wanted = EVERYTHING) -> list[Change]:
    """Return the latest changes that are wanted, newest first."""
    return list(chosen(Change.objects.filter(sealed=True), wanted)[:count])


def steps_of(change: Change) -> tuple[str, ...]:
    """Return in words what a change did, step by step."""
    steps: list[dict[str, Any]] = change.effect.get("steps", [])
    return tuple(step["words"] or step["verb"] for step in steps)


def change_answer(number: int) -> ChangeAnswer | None:
    """Return a change and what it did, or None where there is none of that number."""
    change = (
        Change.objects.select_related("actor", "job").filter(number=number, sealed=True).first()
    )
    if change is None:
        return None
    light: dict[str, list[int]] = {
        what: change.effect.get(f"terminals_{what}", []) for what in _OF_LIGHT
    }
    bookings: list[dict[str, Any]] = change.effect.get("bookings", [])[:NAMED_MAX]
    shown = {point for listed in light.values() for point in listed[:NAMED_MAX]}
    names = named_points(shown | {each["leg"] for each in bookings})
    return ChangeAnswer(
        change=change,
        steps=steps_of(change),
        light=tuple(
            LightEffect(
                what=what, count=len(listed), terminals=_touched(listed[:NAMED_MAX], names)
            )
            for what, listed in light.items()
            if listed
        ),
        bookings=tuple(_booking_effects(bookings, names)),
    )


def _touched(point_ids: Iterable[int], names: dict[int, str]) -> tuple[Touched, ...]:
    return tuple(Touched(point_id=pk, name=names.get(pk, "")) for pk in point_ids)


def _booking_effects(
    bookings: list[dict[str, Any]], names: dict[int, str]
) -> Iterable[BookingEffect]:
    identifiers = {each["line"] for each in bookings if "line" in each}
    lines = dict(Line.objects.filter(identifier__in=identifiers).values_list("identifier", "pk"))
    for each in bookings:
        line = each.get("line", "")
        (leg,) = _touched([each["leg"]], names)
        yield BookingEffect(leg=leg, line_id=lines.get(line), line=line, what=each["what"])
