"""Verbs for bookings: book, release, move, bar, unbar, measure and unmeasure a leg."""

from collections.abc import Mapping

from records.changes import _leading, _light, _serving
from records.changes._checks import (
    existing,
    loss_mdb,
    refuse_retired,
    refuse_unmeasured,
    text,
)
from records.changes._rejoining import put_on, take_off
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Refusal
from records.light.spread import lead
from records.models import Booking, BookingState, Feed, JointEnd, LegCondition, Line, Point, Role
from records.queries.names import address, point_name, port_label
from records.queries.piece import reach, together


class LegBooked(Refusal):
    """A leg that is already promised."""

    code = "leg_booked"


class LineBooked(Refusal):
    """A line that already has a leg."""

    code = "line_booked"


class LegBarred(Refusal):
    """A leg that is faulty or withheld."""

    code = "leg_barred"


class LegOnward(Refusal):
    """A leg that feeds another splitter."""

    code = "leg_onward"


class LegLightsAnother(Refusal):
    """A leg that already lights a terminal of another dwelling."""

    code = "leg_lights_another"


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
    point = _leg(leg)
    wanted = existing(Line.objects.select_related("place"), line, field="line")
    refuse_retired(wanted.place, field="line")
    _refuse_unfit(point)
    _refuse_second_leg(wanted)
    _refuse_lit_elsewhere(point, wanted)

    booking = Booking.objects.create(leg=point, line=wanted, state=BookingState.HELD)
    _refuse_astray(point)
    _serving.note_booking(change, leg, wanted, "booked")
    _serving.settle(change, [leg])
    change.say(f"booked {point_name(point)} for line {wanted} of {address(wanted.place)}")
    return booking


def _leg(leg: int, *, field: str = "leg") -> Point:
    found = existing(Point.objects.select_related("equipment__place"), leg, field=field)
    if found.role != Role.LEG:
        raise Malformed(
            f"{point_name(found)} is not a splitter leg.", hint="Choose a leg.", field=field
        )
    return found


_CHOOSE = {
    LegBooked: "Choose a spare leg, or release that booking first.",
    LegBarred: "Choose a spare leg, or unbar this one once it is mended.",
    LegOnward: "Choose a spare leg, or one of that splitter's.",
}
_BEFORE_BARRING = {
    LegBooked: "Move that line to another leg first, then bar this one.",
    LegBarred: "Unbar it first, to bar it for another reason.",
    LegOnward: "Join that splitter to another leg first, then bar this one.",
}
"""What to do about a leg that is not spare, to book it or to bar it."""


def _refuse_unfit(
    point: Point, *, field: str = "leg", hints: Mapping[type[Refusal], str] = _CHOOSE
) -> None:
    name = point_name(point)
    holder = _open_booking(point.pk)
    if holder is not None:
        raise LegBooked(
            f"{name} is {holder.state} for line {holder.line} of {address(holder.line.place)}.",
            hint=hints[LegBooked],
            field=field,
            subjects=(point.pk, holder.line_id),
        )
    if point.condition == LegCondition.BARRED:
        raise LegBarred(
            f"{name} is barred: {point.barred_reason}.",
            hint=hints[LegBarred],
            field=field,
            subjects=(point.pk,),
        )
    if point.condition == LegCondition.ONWARD:
        raise LegOnward(
            f"{name} feeds another splitter.",
            hint=hints[LegOnward],
            field=field,
            subjects=(point.pk,),
        )


def _booked(point: Point) -> Booking:
    holder = _open_booking(point.pk)
    if holder is None:
        raise NothingBooked(
            f"{point_name(point)} is not booked.",
            hint="Someone may have released it already; look at the splitter again.",
            field="leg",
            subjects=(point.pk,),
        )
    return holder


def _open_booking(leg: int) -> Booking | None:
    return Booking.objects.open().filter(leg_id=leg).select_related("line__place").first()


def _refuse_second_leg(line: Line) -> None:
    held = Booking.objects.open().filter(line=line).select_related("leg__equipment__place").first()
    if held is not None:
        raise LineBooked(
            f"Line {line} of {address(line.place)} already has {point_name(held.leg)}.",
            hint="Release that booking first, or open a second line for the dwelling.",
            field="line",
            subjects=(line.pk, held.leg_id),
        )


def _refuse_lit_elsewhere(point: Point, line: Line, *, field: str = "leg") -> None:
    lit = (
        Feed.objects.filter(leg_id=point.pk, point__role=Role.TERMINAL)
        .exclude(point__equipment__place_id=line.place_id)
        .select_related("point__equipment__place")
        .first()
    )
    if lit is not None:
        raise LegLightsAnother(
            f"{point_name(point)} already lights {point_name(lit.point)}.",
            hint="Choose another leg, or part that one first.",
            field=field,
            subjects=(point.pk, lit.point_id),
        )


def _refuse_astray(point: Point) -> None:
    """Refuse a leg that is already led, lit or dark, to another dwelling than it is booked for."""
    mate = JointEnd.objects.filter(joint__ends__point=point).exclude(point=point).first()
    if mate is not None:
        piece = together([reach(mate.point_id)])
        _leading.refuse_astray([point.pk], lead(piece, mate.point_id).passed)


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
    _refuse_unfit(new, field="to")
    _refuse_lit_elsewhere(new, booking.line, field="to")

    loose = take_off(change, leg)
    rebook(change, booking, new)
    if loose is not None:
        put_on(change, loose, to)
    else:
        _refuse_astray(new)
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
    _refuse_unfit(point, hints=_BEFORE_BARRING)
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
