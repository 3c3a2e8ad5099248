"""Verbs for bookings: book, release, move, bar, unbar, measure and unmeasure a leg."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from records.changes import _light, _serving
from records.changes._checks import (
    existing_all,
    loss_mdb,
    refuse_retired,
    refuse_unmeasured,
    text,
)
from records.changes._promising import (
    BEFORE_BARRING,
    open_bookings,
    refuse_astray,
    refuse_lit_elsewhere,
    refuse_promised_twice,
    refuse_second_legs,
    refuse_unfit,
)
from records.changes._rejoining import put_on, take_off
from records.changes._transaction import OpenChange, for_many, verb
from records.changes.refusals import Malformed, Refusal
from records.models import Booking, BookingState, LegCondition, Line, Point, Role
from records.queries.names import address, point_name, port_label


class NothingBooked(Refusal):
    """A release of what is not booked."""

    code = "nothing_booked"


class NotBarred(Refusal):
    """An unbarring of what is not barred."""

    code = "not_barred"


@verb
def book(change: OpenChange, leg: int, *, line: int) -> Booking:
    """Promise a spare leg to a line.

    Raises: Missing, Malformed, PlaceRetired, LegBooked, LineBooked, LegBarred, LegOnward,
    LegLightsAnother.
    """
    (booking,) = book_all(change, [NewBooking(leg, line)])
    promised = booking.line
    change.say(
        f"booked {point_name(booking.leg)} for line {promised} of {address(promised.place)}"
    )
    return booking


@dataclass(frozen=True, slots=True)
class NewBooking:
    """A spare leg to promise to a line: see `book`."""

    leg: int
    line: int


@for_many
def book_all(change: OpenChange, wanted: Sequence[NewBooking]) -> list[Booking]:
    """Promise many legs, each to its line. Raises: what `book` raises."""
    legs = _legs([each.leg for each in wanted])
    with_place = Line.objects.select_related("place")
    lines = existing_all(with_place, (each.line for each in wanted), field="line")
    for line in lines.values():
        refuse_retired(line.place, field="line")
    pairs = [(legs[each.leg], lines[each.line]) for each in wanted]
    refuse_promised_twice(pairs)
    refuse_unfit(legs.values())
    refuse_second_legs(lines.values())
    refuse_lit_elsewhere(pairs)

    booked = Booking.objects.bulk_create(
        Booking(leg=leg, line=line, state=BookingState.HELD) for leg, line in pairs
    )
    refuse_astray(legs)
    for leg, line in pairs:
        _serving.note_booking(change, leg.pk, line, "booked")
    _serving.settle(change, legs)
    return booked


def _leg(leg: int, *, field: str = "leg") -> Point:
    return _legs([leg], field=field)[leg]


def _legs(legs: Iterable[int], *, field: str = "leg") -> dict[int, Point]:
    points = Point.objects.select_related("equipment__place")
    found: dict[int, Point] = existing_all(points, legs, field=field)
    for each in found.values():
        if each.role != Role.LEG:
            raise Malformed(
                f"{point_name(each)} is not a splitter leg.", hint="Choose a leg.", field=field
            )
    return found


def _booked(point: Point) -> Booking:
    holder = open_bookings([point]).get(point.pk)
    if holder is None:
        raise NothingBooked(
            f"{point_name(point)} is not booked.",
            hint="Someone may have released it already; look at the splitter again.",
            field="leg",
            subjects=(point.pk,),
        )
    return holder


@verb
def release(change: OpenChange, leg: int) -> Booking:
    """Release a leg's open booking. Raises: Missing, NothingBooked, StillLit."""
    point = _leg(leg)
    holder = _booked(point)
    if holder.state == BookingState.LIVE:
        raise StillLit(
            f"{point_name(point)} still lights the terminal of {address(holder.line.place)}.",
            hint="Part the leg first; the booking can then be released.",
            field="leg",
            subjects=(leg, holder.line_id),
        )

    Booking.objects.filter(pk=holder.pk).update(state=BookingState.RELEASED)
    _serving.note_booking(change, leg, holder.line, "released")
    _serving.settle(change, [leg])
    change.say(f"released {point_name(point)} from line {holder.line}")
    return holder


@verb
def move(change: OpenChange, leg: int, *, to: int) -> Booking:
    """Move a flat to another leg: its booking, and the fibre or cord on the old one.

    The booking is the same before and after. Raises: what `book` and `joints.join` raise,
    NothingBooked.
    """
    old, new = _leg(leg), _leg(to, field="to")
    if leg == to:
        raise Malformed(
            f"The flat is already on {point_name(old)}.", hint="Choose another leg.", field="to"
        )
    booking = _booked(old)
    refuse_unfit([new], field="to")
    refuse_lit_elsewhere([(new, booking.line)], field="to")

    loose = take_off(change, leg)
    rebook(change, booking, new)
    if loose is not None:
        put_on(change, loose, to)
    else:
        refuse_astray([to])
    change.say(
        f"moved line {booking.line} of {address(booking.line.place)} from {point_name(old)} to "
        f"{point_name(new)}"
    )
    return booking


def rebook(change: OpenChange, booking: Booking, leg: Point) -> None:
    """Let a booking promise another leg, while nothing is lit through either.

    That the old leg was held on the way is no news of it: it promises nothing any more.
    """
    before = booking.leg
    on_the_way = {"leg": before.pk, "what": "held"}
    change.bookings[:] = [each for each in change.bookings if each != on_the_way]
    Booking.objects.filter(pk=booking.pk).update(leg=leg)
    booking.leg = leg
    _serving.note_booking(change, leg.pk, booking.line, f"taken over from {port_label(before)}")
    _serving.settle(change, [before.pk, leg.pk])


class StillLit(Refusal):
    """A release of a leg that still lights its dwelling's terminal."""

    code = "still_lit"


@verb
def bar(change: OpenChange, leg: int, *, why: str) -> Point:
    """Bar a leg that is faulty or withheld. Raises: Malformed, LegBooked, LegOnward, LegBarred."""
    point = _leg(leg)
    refuse_unfit([point], hints=BEFORE_BARRING)
    point.barred_reason = text(why, 200, field="why", needed=True)
    point.condition = LegCondition.BARRED
    Point.objects.filter(pk=leg).update(
        barred_reason=point.barred_reason, condition=point.condition
    )
    change.say(f"barred {point_name(point)}: {point.barred_reason}")
    return point


@verb
def unbar(change: OpenChange, leg: int) -> Point:
    """Make a barred leg spare again. Raises: Missing, NotBarred."""
    point = _leg(leg)
    if point.condition != LegCondition.BARRED:
        raise NotBarred(
            f"{point_name(point)} is not barred.", hint="Check the leg number.", field="leg"
        )
    Point.objects.filter(pk=leg).update(barred_reason="", condition=LegCondition.SPARE)
    change.say(f"unbarred {point_name(point)}")
    return point


@verb
def measure(change: OpenChange, leg: int, *, loss_db: float) -> Point:
    """Record a leg's loss from its test sheet, input to that leg. Raises: Malformed, Missing."""
    point = _leg(leg)
    point.measured_mdb = loss_mdb(loss_db)
    Point.objects.filter(pk=leg).update(measured_mdb=point.measured_mdb)
    _light.relight(change, _light.channels_at([leg]))
    change.say(f"measured {loss_db:g} dB from the input to {point_name(point)}")
    return point


@verb
def unmeasure(change: OpenChange, leg: int) -> Point:
    """Take back a leg's measured loss, so that its type's holds again. Raises: NotMeasured."""
    point = _leg(leg)
    refuse_unmeasured(point.measured_mdb, point_name(point))
    Point.objects.filter(pk=leg).update(measured_mdb=None)
    point.measured_mdb = None
    _light.relight(change, _light.channels_at([leg]))
    change.say(f"took back the measured loss to {point_name(point)}")
    return point
