"""Keep bookings and leg conditions in step with light.

A booking is *live* while a terminal of its line's dwelling is lit through its leg, else *held*. A
leg that leads into another splitter is *onward*. A terminal is never lit through a leg booked for
another dwelling; lit through an unbooked leg, it takes that leg for its dwelling's line.
"""

from collections.abc import Iterable
from typing import NamedTuple

from django.db import connection

from records.changes import _leading
from records.changes._transaction import OpenChange
from records.changes.refusals import Refusal
from records.models import Booking, JointEnd, LegCondition, Line, Place, Point
from records.queries.engine import ids, in_ids, rows
from records.queries.names import addresses, named_points

Served = tuple[int, int | None]
"""A terminal port and the nearest leg above it, if any."""


class LegOfAnother(Refusal):
    """A terminal would be lit from a leg booked for another dwelling."""

    code = "leg_of_another"


class NoLineFree(Refusal):
    """A terminal would be lit from an unbooked leg, and it is not clear for which line."""

    code = "no_line_free"


class LegBarredLit(Refusal):
    """A terminal would be lit from a barred leg."""

    code = "leg_barred_lit"


class LegNotSpare(Refusal):
    """A leg would feed another splitter though it is booked, barred, or feeds a home."""

    code = "leg_not_spare"


class _Promise(NamedTuple):
    leg: int
    condition: str
    barred_reason: str
    dwelling: int | None
    line: str | None


def lit(change: OpenChange, served: list[Served]) -> None:
    """Take in that terminals got light. Raises: LegOfAnother, NoLineFree, LegBarredLit."""
    if not served:
        return
    change.light.extend((terminal, True) for terminal, _leg in served)
    legs = {leg for _terminal, leg in served if leg is not None}
    if not legs:
        return
    dwellings, promises = _dwellings_and_promises(terminal for terminal, _leg in served)
    for terminal, leg in served:
        if leg is not None:
            promises[leg] = _kept(change, terminal, dwellings[terminal], promises[leg])
    settle(change, legs)


def _dwellings_and_promises(
    terminals: Iterable[int],
) -> tuple[dict[int, int], dict[int, _Promise]]:
    """Return the dwelling of each terminal, and for whom each leg above them is booked."""
    found = rows(
        f"""SELECT port.id, equipment.place_id,
                   leg.id, leg.condition, leg.barred_reason, line.place_id, line.identifier
            FROM records_feed feed
            JOIN records_point port ON port.id = feed.point_id
            JOIN records_equipment equipment ON equipment.id = port.equipment_id
            JOIN records_point leg ON leg.id = feed.leg_id
            LEFT JOIN records_booking booking
              ON booking.leg_id = leg.id AND booking.state IN ('held', 'live')
            LEFT JOIN records_line line ON line.id = booking.line_id
            WHERE {in_ids("feed.point_id")}""",
        [ids(terminals)],
    )
    return {row[0]: row[1] for row in found}, {row[2]: _Promise(*row[2:]) for row in found}


def _kept(change: OpenChange, terminal: int, dwelling: int, promise: _Promise) -> _Promise:
    """Return the promise of a leg now that it lights a terminal, or refuse."""
    if promise.dwelling == dwelling:
        return promise
    names = named_points((terminal, promise.leg))
    if promise.dwelling is not None:
        booked_for = _address(promise.dwelling)
        raise LegOfAnother(
            f"{names[terminal]} would be lit from {names[promise.leg]}, which is booked for line "
            f"{promise.line} of {booked_for}.",
            hint="Use another leg, or release that booking first.",
            subjects=(terminal, promise.leg),
        )
    if promise.barred_reason:
        raise LegBarredLit(
            f"{names[terminal]} would be lit from {names[promise.leg]}, which is barred: "
            f"{promise.barred_reason}.",
            hint="Use another leg, or unbar this one first.",
            subjects=(terminal, promise.leg),
        )
    if promise.condition == LegCondition.ONWARD:
        raise LegNotSpare(
            f"{names[terminal]} would be lit from {names[promise.leg]}, which feeds another "
            "splitter.",
            hint="Use a leg of that splitter, or a spare one.",
            subjects=(terminal, promise.leg),
        )
    line = _book_as_built(change, dwelling, promise.leg, names[promise.leg])
    return promise._replace(dwelling=dwelling, line=line.identifier)


def _book_as_built(change: OpenChange, dwelling: int, leg: int, leg_name: str) -> Line:
    """Book an unbooked leg for the one line it can be for: the record follows what is built."""
    free = list(
        Line.objects.filter(place_id=dwelling).exclude(bookings__in=Booking.objects.open())[:2]
    )
    if len(free) != 1:
        lines = "no line without a leg" if not free else "several lines without a leg"
        raise NoLineFree(
            f"{leg_name} is not booked, and {_address(dwelling)} has {lines}.",
            hint="Book the leg for the line it is meant for, then join.",
            subjects=(leg,),
        )
    Booking.objects.create(leg_id=leg, line=free[0])
    note_booking(change, leg, free[0], "booked as built")
    return free[0]


def _address(place_id: int) -> str:
    return addresses(Place.objects.filter(pk=place_id))[place_id]


def note_booking(change: OpenChange, leg: int, line: Line, what: str) -> None:
    """Note in the change what became of a booking."""
    change.bookings.append({"leg": leg, "line": line.identifier, "what": what})


def darkened(change: OpenChange, lost: list[Served]) -> None:
    """Take in that terminals lost light."""
    change.light.extend((terminal, False) for terminal, _leg in lost)
    settle(change, {leg for _terminal, leg in lost if leg is not None})


_LIT = """EXISTS (
    SELECT 1 FROM records_feed feed
    JOIN records_point port ON port.id = feed.point_id AND port.role = 'terminal'
    JOIN records_equipment terminal ON terminal.id = port.equipment_id
    JOIN records_line line ON line.id = records_booking.line_id
    WHERE feed.leg_id = records_booking.leg_id AND terminal.place_id = line.place_id)"""


def settle(change: OpenChange, legs: Iterable[int]) -> None:
    """Set the state of the legs' open bookings, and the legs' conditions, to what is so."""
    wanted = set(legs)
    if not wanted:
        return
    turned = rows(
        f"""UPDATE records_booking SET state = CASE state WHEN 'held' THEN 'live' ELSE 'held' END
            WHERE {in_ids("leg_id")} AND (state = 'held' AND {_LIT}
                                          OR state = 'live' AND NOT {_LIT})
            RETURNING leg_id, state""",
        [ids(wanted)],
    )
    change.bookings.extend({"leg": leg, "what": state} for leg, state in sorted(turned))
    _set_conditions(wanted)


def _set_conditions(legs: Iterable[int]) -> None:
    """Set conditions of legs that are neither onward nor barred from their open bookings."""
    booked = """COALESCE((SELECT state FROM records_booking
                WHERE leg_id = records_point.id AND state IN ('held', 'live')), 'spare')"""
    with connection.cursor() as cursor:
        cursor.execute(
            f"""UPDATE records_point SET condition = {booked}
                WHERE {in_ids("id")} AND condition IN ('spare', 'held', 'live')
                  AND condition <> {booked}""",
            [ids(legs)],
        )


def lead_onward(legs: Iterable[int]) -> None:
    """Mark legs that now lead into another splitter. Raises: LegNotSpare."""
    for leg in Point.objects.filter(pk__in=set(legs)):
        if leg.condition == LegCondition.ONWARD:
            continue
        if leg.condition != LegCondition.SPARE:
            name = named_points([leg.pk])[leg.pk]
            raise LegNotSpare(
                f"{name} is {leg.condition} and can't feed another splitter.",
                hint="Release the booking or unbar the leg first, or use a spare one.",
                subjects=(leg.pk,),
            )
        Point.objects.filter(pk=leg.pk).update(condition=LegCondition.ONWARD)


def no_longer_onward(legs: Iterable[int]) -> None:
    """Make onward legs spare again where no splitter hangs from them any more, lit or dark."""
    wanted = set(legs)
    if not wanted:
        return
    for leg in Point.objects.filter(pk__in=wanted, condition=LegCondition.ONWARD):
        mate = JointEnd.objects.filter(joint__ends__point=leg).exclude(point=leg).first()
        if mate is None or not _leading.from_point(mate.point_id).is_onward:
            Point.objects.filter(pk=leg.pk).update(condition=LegCondition.SPARE)
