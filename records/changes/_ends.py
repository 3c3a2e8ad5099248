"""Which two points can be made one: both free, with ends that fit, not both sending."""

from collections import Counter
from collections.abc import Sequence

from records.changes.refusals import Missing, Refusal
from records.models import JointEnd, JointKind, Point, Polish, Role
from records.queries.names import named_points, short_name

SENDERS = (Role.PON, Role.LEG)
STANDING = ("equipment__place", "passage__cable__a_place", "passage__cable__b_place")
"""What tells of a point what it belongs to and where that is."""


class PointJoined(Refusal):
    """A point that is already part of a joint."""

    code = "point_joined"


class SamePoint(Refusal):
    """A point joined to itself, or a fibre or adapter to its own other side."""

    code = "same_point"
    status = 422


class WrongPolish(Refusal):
    """An angled connector on a straight one."""

    code = "wrong_polish"
    status = 422


class BareEnd(Refusal):
    """Connectors that can't be spliced, or bare ends that can't be mated."""

    code = "bare_end"
    status = 422


class BothSend(Refusal):
    """Two points that both only send light down."""

    code = "both_send"
    status = 422


def free_pairs(pairs: Sequence[tuple[int, int]]) -> list[tuple[Point, Point]]:
    """Return pairs of points that are in no joint. Raises: SamePoint, Missing, PointJoined."""
    for a, b in pairs:
        if a == b:
            raise SamePoint(
                "A point can't be joined to itself.", hint="Choose two points.", field="b"
            )
    times = Counter(pk for pair in pairs for pk in pair)
    found = Point.objects.select_related(*STANDING, "joint_end").in_bulk(list(times))
    for pair in pairs:
        for pk, field in zip(pair, ("a", "b"), strict=True):
            if pk not in found:
                raise Missing(
                    f"There is no point number {pk}.",
                    hint="It may have been removed; find it again.",
                    field=field,
                )
        for pk, field in zip(pair, ("a", "b"), strict=True):
            _refuse_joined(found[pk], times[pk], field)
    return [(found[a], found[b]) for a, b in pairs]


def _refuse_joined(point: Point, times: int, field: str) -> None:
    if times > 1:
        raise PointJoined(
            f"{short_name(point)} would be in {times} joints.",
            hint="Choose one of them.",
            field=field,
            subjects=(point.pk,),
        )
    if not hasattr(point, "joint_end"):
        return
    mate = JointEnd.objects.filter(joint_id=point.joint_end.joint_id).exclude(point=point).get()
    names = named_points((point.pk, mate.point_id))
    raise PointJoined(
        f"{names[point.pk]} is already joined to {names[mate.point_id]}.",
        hint="Part that joint first, or choose another point.",
        field=field,
        subjects=(point.pk, mate.point_id),
    )


def refuse_unfit(one: Point, other: Point, kind: str) -> None:
    """Refuse two points that can't be made one. Raises: BareEnd, WrongPolish, BothSend."""
    if kind == JointKind.MATED:
        _refuse_plugs_that_do_not_mate(one, other)
    else:
        _refuse_connectors(one, other)
    if one.role in SENDERS and other.role in SENDERS:
        raise BothSend(
            f"{short_name(one)} and {short_name(other)} both send light down.",
            hint="One of the two must be an input, an adapter or a fibre end.",
            field="b",
            subjects=(one.pk, other.pk),
        )


def _refuse_connectors(one: Point, other: Point) -> None:
    for point, field in ((one, "a"), (other, "b")):
        if point.polish:
            raise BareEnd(
                f"{short_name(point)} has a connector ({point.polish}) and can't be spliced.",
                hint="Mate it, or record a bare end if the connector was cut off.",
                field=field,
                subjects=(point.pk,),
            )


def _refuse_plugs_that_do_not_mate(one: Point, other: Point) -> None:
    for point, field in ((one, "a"), (other, "b")):
        if not point.polish:
            raise BareEnd(
                f"{short_name(point)} is a bare end and can't be mated.",
                hint="Splice it (fusion or mechanical), or splice a pigtail on first.",
                field=field,
                subjects=(point.pk,),
            )
    if (one.polish == Polish.APC) != (other.polish == Polish.APC):
        raise WrongPolish(
            f"{short_name(one)} is {one.polish}, {short_name(other)} is {other.polish}: an angled "
            "connector on a straight one loses light, reflects and can mark both end faces.",
            hint="Use a cord with the right connector at each end.",
            field="b",
            subjects=(one.pk, other.pk),
        )
