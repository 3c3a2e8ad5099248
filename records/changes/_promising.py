"""Which legs can be promised to which lines: spare ones, that lead to no other dwelling."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from records.changes import _leading
from records.changes.refusals import Refusal
from records.light.spread import lead
from records.models import Booking, Feed, JointEnd, LegCondition, Line, Point, Role
from records.queries.names import address, named_points, point_name
from records.queries.piece import reaches, together


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


CHOOSE = {
    LegBooked: "Choose a spare leg, or release that booking first.",
    LegBarred: "Choose a spare leg, or unbar this one once it is mended.",
    LegOnward: "Choose a spare leg, or one of that splitter's.",
}
BEFORE_BARRING = {
    LegBooked: "Move that line to another leg first, then bar this one.",
    LegBarred: "Unbar it first, to bar it for another reason.",
    LegOnward: "Join that splitter to another leg first, then bar this one.",
}
"""What to do about a leg that is not spare, to book it or to bar it."""


def refuse_unfit(
    points: Iterable[Point],
    *,
    field: str = "leg",
    hints: Mapping[type[Refusal], str] = CHOOSE,
) -> None:
    listed = list(points)
    holders = open_bookings(listed)
    for point in listed:
        _refuse_promised(point, holders.get(point.pk), field, hints)


def _refuse_promised(
    point: Point, holder: Booking | None, field: str, hints: Mapping[type[Refusal], str]
) -> None:
    if holder is not None:
        raise LegBooked(
            f"{point_name(point)} is {holder.state} for line {holder.line} of "
            f"{address(holder.line.place)}.",
            hint=hints[LegBooked],
            field=field,
            subjects=(point.pk, holder.line_id),
        )
    if point.condition == LegCondition.BARRED:
        raise LegBarred(
            f"{point_name(point)} is barred: {point.barred_reason}.",
            hint=hints[LegBarred],
            field=field,
            subjects=(point.pk,),
        )
    if point.condition == LegCondition.ONWARD:
        raise LegOnward(
            f"{point_name(point)} feeds another splitter.",
            hint=hints[LegOnward],
            field=field,
            subjects=(point.pk,),
        )


def open_bookings(legs: Iterable[Point]) -> dict[int, Booking]:
    """Return the open booking of each of some legs, by leg, where there is one."""
    found = Booking.objects.open().filter(leg__in=list(legs)).select_related("line__place")
    return {each.leg_id: each for each in found}


def refuse_promised_twice(pairs: Sequence[tuple[Point, Line]]) -> None:
    legs = Counter(leg.pk for leg, _line in pairs)
    lines = Counter(line.pk for _leg, line in pairs)
    for leg, line in pairs:
        if legs[leg.pk] > 1:
            raise LegBooked(
                f"{point_name(leg)} would be booked {legs[leg.pk]} times.",
                hint="Choose a spare leg for each line.",
                field="leg",
                subjects=(leg.pk, line.pk),
            )
        if lines[line.pk] > 1:
            raise LineBooked(
                f"Line {line} of {address(line.place)} would have {lines[line.pk]} legs.",
                hint="Choose one of them, or open a second line for the dwelling.",
                field="line",
                subjects=(line.pk, leg.pk),
            )


def refuse_second_legs(lines: Iterable[Line]) -> None:
    """Refuse lines that have a leg already. Raises: LineBooked."""
    held = (
        Booking.objects.open()
        .filter(line__in=list(lines))
        .select_related("leg__equipment__place", "line__place")
        .first()
    )
    if held is not None:
        raise LineBooked(
            f"Line {held.line} of {address(held.line.place)} already has {point_name(held.leg)}.",
            hint="Release that booking first, or open a second line for the dwelling.",
            field="line",
            subjects=(held.line_id, held.leg_id),
        )


def refuse_lit_elsewhere(promised: Iterable[tuple[Point, Line]], *, field: str = "leg") -> None:
    """Refuse legs that light another dwelling than their line's. Raises: LegLightsAnother."""
    dwellings = {leg.pk: line.place_id for leg, line in promised}
    lit = Feed.objects.filter(leg_id__in=list(dwellings), point__role=Role.TERMINAL)
    homes = lit.values_list("leg_id", "point_id", "point__equipment__place_id")
    for leg, terminal, home in homes:
        if home != dwellings[leg]:
            names = named_points([leg, terminal])
            raise LegLightsAnother(
                f"{names[leg]} already lights {names[terminal]}.",
                hint="Choose another leg, or part that one first.",
                field=field,
                subjects=(leg, terminal),
            )


def refuse_astray(legs: Iterable[int]) -> None:
    """Refuse legs that are already led, lit or dark, to another dwelling than booked for."""
    own = JointEnd.objects.filter(point__in=list(legs)).values_list("joint_id", "point_id")
    leg_of = dict(own)
    if not leg_of:
        return
    mates = JointEnd.objects.filter(joint__in=leg_of).exclude(point__in=leg_of.values())
    led = {leg_of[joint]: mate for joint, mate in mates.values_list("joint_id", "point_id")}
    piece = together(reaches(led.values()).values())
    _leading.refuse_astray(
        (leg, spot) for leg, mate in led.items() for spot in lead(piece, mate).passed
    )
