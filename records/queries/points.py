"""One point: what it belongs to, what it is joined to, and what it is promised for."""

from dataclasses import dataclass

from records.models import FIBRE_ENDS, Booking, Joint, JointEnd, Line, Point, Role
from records.queries.names import address, point_name

_HAS_ONE_OTHER_SIDE = (*FIBRE_ENDS, Role.BACK, Role.FRONT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """The joint at a point and the point on its other side."""

    joint: Joint
    mate_id: int
    mate: str

    @property
    def measured_loss_db(self) -> float | None:
        """Return the joint's measured loss; None where the catalogue's holds."""
        mdb = self.joint.measured_mdb
        return None if mdb is None else mdb / 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class PointAt:
    """A point with all that is known of it but light.

    `over_id` and `over` are the fibre's other end or the adapter's other face. `line` and
    `promised_to` belong to a booked leg: the line and the address of its dwelling.
    """

    point: Point
    name: str
    joined: Joined | None
    over_id: int | None
    over: str
    line: Line | None
    booking_state: str
    promised_to: str


def point_at(point_id: int) -> PointAt | None:
    """Return a point, or None where there is none of that id."""
    point = (
        Point.objects.select_related(
            "equipment__place",
            "equipment__optical_class",
            "passage__cable__a_place",
            "passage__cable__b_place",
        )
        .filter(pk=point_id)
        .first()
    )
    if point is None:
        return None
    over = _over(point)
    booking = _booking(point)
    return PointAt(
        point=point,
        name=point_name(point),
        joined=_joined(point),
        over_id=over.pk if over else None,
        over=str(over) if over else "",
        line=booking.line if booking else None,
        booking_state=booking.state if booking else "",
        promised_to=address(booking.line.place) if booking else "",
    )


def _joined(point: Point) -> Joined | None:
    mate = (
        JointEnd.objects.filter(joint__ends__point=point)
        .exclude(point=point)
        .select_related("joint__stands_in", "joint__entry", "point__equipment__place")
        .select_related("point__passage__cable")
        .first()
    )
    if mate is None:
        return None
    return Joined(joint=mate.joint, mate_id=mate.point_id, mate=point_name(mate.point))


def _over(point: Point) -> Point | None:
    if point.role not in _HAS_ONE_OTHER_SIDE:
        return None
    return Point.objects.filter(passage=point.passage_id).exclude(pk=point.pk).first()


def _booking(point: Point) -> Booking | None:
    if point.role != Role.LEG:
        return None
    return Booking.objects.open().filter(leg=point).select_related("line__place").first()
