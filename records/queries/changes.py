"""Changes: the latest ones, and what one of them did to light and bookings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from records.models import Change, Line
from records.queries.names import named_points

NAMED_MAX = 500
"""How many lit or darkened terminals of one change are told by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """A point that a change lit, darkened or booked; the name is empty if it is gone since."""

    point_id: int
    name: str


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
    lit: tuple[Touched, ...]
    darkened: tuple[Touched, ...]
    bookings: tuple[BookingEffect, ...]
    lit_count: int
    darkened_count: int


def latest_changes(
    count: int,
    *,
    before: int | None = None,
    actor_id: int | None = None,
    verb: str = "",
    since: datetime | None = None,
) -> list[Change]:
    """Return the latest changes, newest first; `before` is a change's number."""
    found = Change.objects.filter(sealed=True).select_related("actor").order_by("-number")
    if before is not None:
        found = found.filter(number__lt=before)
    if actor_id is not None:
        found = found.filter(actor=actor_id)
    if verb:
        found = found.filter(verb=verb)
    if since is not None:
        found = found.filter(at__gte=since)
    return list(found[:count])


def steps_of(change: Change) -> tuple[str, ...]:
    """Return in words what a change did, step by step."""
    steps: list[dict[str, Any]] = change.effect.get("steps", [])
    return tuple(step["words"] or step["verb"] for step in steps)


def change_answer(number: int) -> ChangeAnswer | None:
    """Return a change and what it did, or None where there is none of that number."""
    change = Change.objects.select_related("actor").filter(number=number, sealed=True).first()
    if change is None:
        return None
    lit: list[int] = change.effect.get("terminals_lit", [])
    darkened: list[int] = change.effect.get("terminals_darkened", [])
    bookings: list[dict[str, Any]] = change.effect.get("bookings", [])[:NAMED_MAX]
    shown = {*lit[:NAMED_MAX], *darkened[:NAMED_MAX], *(each["leg"] for each in bookings)}
    names = named_points(shown)
    return ChangeAnswer(
        change=change,
        steps=steps_of(change),
        lit=_touched(lit[:NAMED_MAX], names),
        darkened=_touched(darkened[:NAMED_MAX], names),
        bookings=tuple(_booking_effects(bookings, names)),
        lit_count=len(lit),
        darkened_count=len(darkened),
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
