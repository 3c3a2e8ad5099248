"""What points are joined to, directly and across a cord."""

from collections.abc import Iterable
from typing import NamedTuple

from records.intake._chunks import chunked
from records.models import FIBRE_ENDS, JointEnd, Point


class Mate(NamedTuple):
    """The other point of a point's joint, and the joint."""

    point: int
    joint: int


def mates(points: Iterable[int]) -> dict[int, Mate]:
    """Return what each of some points is joined to, those that are."""
    near = {
        each.point_id: each.joint_id for each in chunked(JointEnd.objects, "point__in", points)
    }
    ends = list(chunked(JointEnd.objects, "joint__in", near.values()))
    both: dict[int, list[int]] = {}
    for each in ends:
        both.setdefault(each.joint_id, []).append(each.point_id)
    return {
        point: Mate(next(other for other in both[joint] if other != point), joint)
        for point, joint in near.items()
    }


def past_cords(ends: Iterable[int]) -> dict[int, int]:
    """Return, for those points that are fibre ends, what their fibre's far end is joined to."""
    fibre_ends = Point.objects.filter(role__in=FIBRE_ENDS)
    near = {each.pk: each.passage_id for each in chunked(fibre_ends, "pk__in", ends)}
    passages = [pk for pk in near.values() if pk is not None]
    both: dict[int | None, list[int]] = {}
    for each in chunked(fibre_ends, "passage__in", passages):
        both.setdefault(each.passage_id, []).append(each.pk)
    far = {
        point: other
        for point, passage in near.items()
        for other in both[passage]
        if other != point
    }
    beyond = mates(far.values())
    return {point: beyond[other].point for point, other in far.items() if other in beyond}
