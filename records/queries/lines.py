"""A line: its dwelling, the leg promised to it now, and all it had before."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import F, QuerySet

from records.models import KEPT, Booking, Change, Line, Point, Role
from records.queries.names import address, named_points, short_name

_TURNS_SHOWN = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingTurn:
    """What a change made of a booking of a line: held, live or released, and which leg."""

    change: Change
    state: str
    leg_id: int
    leg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAnswer:
    """A line, its dwelling's address and terminal ports, its open booking and all its turns."""

    line: Line
    address: str
    terminal_ids: tuple[int, ...]
    state: str
    leg_id: int | None
    leg: str
    turns: tuple[BookingTurn, ...]


def line(line_id: int) -> LineAnswer | None:
    """Return a line with its bookings' turns newest first, or None where there is none."""
    found = Line.objects.select_related("place").filter(pk=line_id).first()
    if found is None:
        return None
    booking = Booking.objects.open().filter(line=found).first()
    terminals = Point.objects.filter(role=Role.TERMINAL, equipment__place=found.place_id)
    turns = _turns(line_id)
    return LineAnswer(
        line=found,
        address=address(found.place),
        terminal_ids=tuple(terminals.order_by("pk").values_list("pk", flat=True)),
        state=booking.state if booking else "",
        leg_id=booking.leg_id if booking else None,
        leg=next((turn.leg for turn in turns if booking and turn.leg_id == booking.leg_id), ""),
        turns=turns,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """A leg promised to a dwelling."""

    state: str
    leg: str


def promises(place_ids: Iterable[int]) -> dict[int, list[Promise]]:
    """Return the legs promised to some dwellings, by the dwelling."""
    found = list(
        Booking.objects.open()
        .filter(line__place__in=set(place_ids))
        .select_related("leg__equipment", "line")
        .order_by("pk")
    )
    by_place: dict[int, list[Promise]] = {}
    for booking in found:
        promise = Promise(state=booking.state, leg=short_name(booking.leg))
        by_place.setdefault(booking.line.place_id, []).append(promise)
    return by_place


def _turns(line_id: int) -> tuple[BookingTurn, ...]:
    versions: QuerySet[Any] = KEPT[Booking].objects.filter(since__lt=F("until"))
    latest = list(versions.filter(line=line_id).order_by("-since", "-row")[:_TURNS_SHOWN])
    changes = Change.objects.select_related("actor").in_bulk({each.since for each in latest})
    legs = named_points(each.leg_id for each in latest)
    return tuple(
        BookingTurn(
            change=changes[each.since],
            state=each.state,
            leg_id=each.leg_id,
            leg=legs.get(each.leg_id, f"leg {each.leg_id}, since removed"),
        )
        for each in latest
    )
