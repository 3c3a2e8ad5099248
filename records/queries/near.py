"""What lies near, offered before a word is typed: work happens at one place at a time."""

from collections.abc import Iterable

from django.db.models import Case, Count, Exists, F, Max, OuterRef, Q, Subquery, When
from django.db.models.functions import Coalesce

from records.models import (
    Booking,
    Cable,
    Equipment,
    EquipmentKind,
    JointEnd,
    LegCondition,
    Line,
    Place,
    PlaceKind,
    Point,
    Role,
)
from records.queries.option import LIMIT
from records.queries.point_options import ORDER, at_places, points_by_id

SENDERS = (Role.PON, Role.LEG)


def beside(point_id: int, *, roles: Iterable[str] = Role.values) -> list[int]:
    """Return the free points where a point is, those first that its end could go on."""
    point = points_by_id([point_id]).get(point_id)
    if point is None:
        return []
    place = point.place
    fits = Q(polish="APC") if point.polish == "APC" else Q(polish__in=["PC", "UPC"])
    found = (
        at_places([place.pk])
        .filter(role__in=roles, joint_end__isnull=True)
        .exclude(pk=point_id)
        .order_by(
            Case(When(fits if point.polish else Q(polish=""), then=0), default=1),
            Case(When(_leads_to_booked_home(point), then=0), default=1),
            *ORDER,
        )
    )
    if point.passage_id:
        found = found.exclude(passage=point.passage_id)
    if point.role in SENDERS:
        found = found.exclude(role__in=SENDERS)
    return list(found.values_list("pk", flat=True)[:LIMIT])


def _leads_to_booked_home(leg: Point) -> Q:
    """Return what a drop cable's end is known by, seen from a leg booked for its dwelling."""
    homes = Place.objects.filter(
        lines__bookings__in=Booking.objects.open().filter(leg=leg)
    ).values("pk")
    return Q(role=Role.A_END, passage__cable__b_place__in=homes) | Q(
        role=Role.B_END, passage__cable__a_place__in=homes
    )


def spare_legs_for(line_id: int) -> list[int]:
    """Return the spare legs of the splitters nearest to a line's dwelling.

    Those already wired to it come first, then those of splitters that serve its floor, those that
    serve most of it before others, then those behind the most splits: homes hang there.
    """
    place = Place.objects.filter(lines=line_id).first()
    if place is None:
        return []
    wired = JointEnd.objects.filter(
        joint__ends__point=OuterRef("pk"), point__passage__cable__b_place=place
    )
    spare = (
        Point.objects.filter(role=Role.LEG, condition=LegCondition.SPARE)
        .annotate(split=Max("feeds__split"), neighbours=_served_beside(place))
        .order_by(
            Exists(wired).desc(),
            F("neighbours").desc(),
            F("split").desc(nulls_last=True),
            *ORDER,
        )
    )
    for end in range(len(place.path), 0, -Place.steplen):
        near = spare.filter(equipment__place__path__startswith=place.path[:end])
        found = list(near.values_list("pk", flat=True)[:LIMIT])
        if found:
            return found
    return []


def _served_beside(dwelling: Place) -> Coalesce:
    """Count the dwellings on the same floor that a leg's splitter serves, or that are booked."""
    floor = dwelling.path[: -Place.steplen]
    booked = (
        Booking.objects.open()
        .filter(leg__equipment=OuterRef("equipment"), line__place__path__startswith=floor)
        .order_by()
        .values("leg__equipment")
        .annotate(count=Count("pk"))
    )
    return Coalesce(Subquery(booked.values("count")), 0)


def spare_legs_beside(leg_id: int) -> list[int]:
    """Return the spare legs where a splitter stands, its own first."""
    leg = Point.objects.filter(pk=leg_id).select_related("equipment").first()
    if leg is None or leg.equipment is None:
        return []
    spare = Point.objects.filter(
        role=Role.LEG, condition=LegCondition.SPARE, equipment__place=leg.equipment.place_id
    ).order_by(Case(When(equipment=leg.equipment_id, then=0), default=1), *ORDER)
    return list(spare.values_list("pk", flat=True)[:LIMIT])


def unbooked_lines_near(leg_id: int) -> list[int]:
    """Return the lines without a leg in the smallest place around a splitter that has any."""
    place = Place.objects.filter(equipment__ports=leg_id).first()
    if place is None:
        return []
    unbooked = Line.objects.filter(place__retired=False).exclude(
        bookings__in=Booking.objects.open()
    )
    for end in range(len(place.path), 0, -Place.steplen):
        near = unbooked.filter(place__path__startswith=place.path[:end]).order_by("place__path")
        found = list(near.values_list("pk", flat=True)[:LIMIT])
        if found:
            return found
    return []


def housings(point_id: int) -> list[int]:
    """Return the closures, panels and outlets that stand where a point is."""
    point = points_by_id([point_id]).get(point_id)
    if point is None:
        return []
    housing = Equipment.objects.filter(
        place=point.place,
        kind__in=(EquipmentKind.CLOSURE, EquipmentKind.PANEL, EquipmentKind.OUTLET),
    )
    return list(housing.order_by("pk").values_list("pk", flat=True)[:LIMIT])


_IN_THE_STREET = (
    PlaceKind.CHAMBER,
    PlaceKind.CABINET,
    PlaceKind.POLE,
    PlaceKind.CUPBOARD,
)
"""Kinds of place where closures hang."""


def places_along(cable_id: int) -> list[int]:
    """Return the places where a cable may be cut: at its ends, then those of its estate."""
    cable = Cable.objects.select_related("a_place", "b_place").filter(pk=cable_id).first()
    if cable is None:
        return []
    ends = [cable.a_place_id, cable.b_place_id]
    estate = cable.a_place.path[: Place.steplen]
    others = Place.objects.filter(path__startswith=estate, kind__in=_IN_THE_STREET, retired=False)
    listed = others.exclude(pk__in=ends).order_by("depth", "path").values_list("pk", flat=True)
    return [*ends, *listed[: LIMIT - len(ends)]]


def closures_along(cable_id: int) -> list[int]:
    """Return the closures that stand where a cable may be cut."""
    places = places_along(cable_id)
    closures = Equipment.objects.filter(place__in=places, kind=EquipmentKind.CLOSURE)
    known = dict(closures.values_list("pk", "place"))
    return sorted(known, key=lambda pk: places.index(known[pk]))[:LIMIT]
