"""Points as options: where each is, whether it is free, what a leg is promised for."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet

from records.models import (
    FIBRE_ENDS,
    Booking,
    JointEnd,
    LegCondition,
    Line,
    Point,
    Role,
)
from records.optics.colours import ColourScheme as Scheme
from records.optics.colours import place_of_fibre
from records.queries.cables import colour_schemes
from records.queries.find import Found
from records.queries.levels import lit_at
from records.queries.names import addresses, named_points, short_name
from records.queries.option import LIMIT, Option, ids_of

ORDER = ("equipment_id", "passage__cable_id", "number", "side")
"""Points of one owner together, in the order of their numbers."""


def points_by_id(ids: Iterable[int]) -> dict[int, Point]:
    """Return points with what their names and places need."""
    return Point.objects.select_related(
        "equipment__place", "passage__cable__a_place", "passage__cable__b_place"
    ).in_bulk(ids)


def at_places(places: Iterable[int]) -> "QuerySet[Point]":
    """Return the points that lie in some places: ports there, and ends of cables."""
    listed = list(places)
    return Point.objects.filter(
        Q(equipment__place__in=listed)
        | Q(role=Role.A_END, passage__cable__a_place__in=listed)
        | Q(role=Role.B_END, passage__cable__b_place__in=listed)
    )


def drawn_points(*roles: str) -> Callable[[list[Found]], list[int]]:
    """Return what draws points of these roles: those named, then those of things named."""

    def draw(found: list[Found]) -> list[int]:
        named = ids_of(found, "point")
        fibres = Point.objects.filter(pk__in=named, role__in=FIBRE_ENDS).values("passage")
        legs = Booking.objects.open().filter(line__in=ids_of(found, "line")).values("leg")
        homes = Line.objects.filter(pk__in=ids_of(found, "line")).values_list("place", flat=True)
        circles = (
            Point.objects.filter(Q(pk__in=named) | Q(passage__in=fibres) | Q(pk__in=legs)),
            Point.objects.filter(
                Q(equipment__in=ids_of(found, "equipment"))
                | Q(passage__cable__in=ids_of(found, "cable"))
            ),
            at_places([*ids_of(found, "place"), *homes]),
        )
        drawn: dict[int, None] = {}
        for circle in circles:
            joined = Exists(JointEnd.objects.filter(point=OuterRef("pk")))
            ordered = circle.filter(role__in=roles).order_by(joined.asc(), *ORDER)
            drawn.update(dict.fromkeys(ordered.values_list("pk", flat=True)[:LIMIT]))
            if len(drawn) >= LIMIT:
                break
        return list(drawn)

    return draw


def described_points(ids: list[int]) -> list[Option]:
    """Return points as options, in the order given."""
    points = points_by_id(ids)
    places = addresses(point.place for point in points.values())
    told = _Told.of(points)
    schemes = colour_schemes(
        point.passage.cable.colour_scheme_id
        for point in points.values()
        if point.passage and point.passage.cable
    )
    return [
        Option(
            id=pk,
            title=_title(points[pk], schemes),
            where=places[points[pk].place.pk],
            detail=", ".join(told.about(points[pk])),
            level_dbm=told.levels.get(pk),
        )
        for pk in ids
        if pk in points
    ]


def _title(point: Point, schemes: Mapping[int | None, Scheme]) -> str:
    cable = point.cable
    if cable is None:
        return short_name(point)
    scheme = schemes.get(cable.colour_scheme_id)
    return short_name(point) + (f", {place_of_fibre(scheme, point.number)}" if scheme else "")


class _Told(NamedTuple):
    """What is told of some points, each part by the point's id."""

    promises: dict[int, str]
    mates: dict[int, str]
    levels: dict[int, float]

    @classmethod
    def of(cls, points: dict[int, Point]) -> "_Told":
        """Read all parts, with one query each."""
        booked = Booking.objects.open().filter(leg__in=points).select_related("line__place")
        levels: dict[int, float] = {}
        for lit in lit_at(points):
            levels.setdefault(lit.point_id, lit.level.typical_dbm)
        return cls(
            {each.leg_id: f"{each.state} for {each.line.place}" for each in booked},
            _mates(points),
            levels,
        )

    def about(self, point: Point) -> Iterator[str]:
        """Yield what tells a point from its neighbours."""
        yield point.polish or "bare end"
        if point.condition == LegCondition.BARRED:
            yield f"barred: {point.barred_reason}"
        elif point.condition:
            yield self.promises.get(point.pk, point.condition)
        if point.pk in self.mates:
            yield f"joined to {self.mates[point.pk]}"
        elif not point.condition:
            yield "free"
        if (cable := point.cable) is not None:
            yield f"leads to {cable.b_place if point.role == Role.A_END else cable.a_place}"


def _mates(points: Iterable[int]) -> dict[int, str]:
    wanted = set(points)
    ends: dict[int, list[int]] = {}
    joints = JointEnd.objects.filter(point__in=wanted).values("joint")
    for joint, point in JointEnd.objects.filter(joint__in=joints).values_list("joint", "point"):
        ends.setdefault(joint, []).append(point)
    mates: dict[int, int] = {}
    for a, b in ends.values():
        mates |= {a: b, b: a}
    names = named_points(mate for point, mate in mates.items() if point in wanted)
    return {point: names[mate] for point, mate in mates.items() if point in wanted}
