"""What a form offers for choice, noun by noun: described by ids, drawn from what a text finds."""

from collections.abc import Callable
from typing import NamedTuple

from django.db.models import Q

from records.models import (
    DWELLINGS,
    FIBRE_ENDS,
    Booking,
    Cable,
    Channel,
    Equipment,
    Joint,
    JointEnd,
    Line,
    Place,
    Reading,
    Role,
)
from records.queries.find import Found, find
from records.queries.names import address, addresses, cable_name, named_points, short_name
from records.queries.option import LIMIT, Option, ids_of
from records.queries.point_options import described_points, drawn_points
from records.queries.words import counted


def _described_places(ids: list[int]) -> list[Option]:
    places = Place.objects.in_bulk(ids)
    known = addresses(places.values())
    return [
        Option(id=pk, title=known[pk], detail=places[pk].get_kind_display())
        for pk in ids
        if pk in places
    ]


def _drawn_places(found: list[Found]) -> list[int]:
    return ids_of(found, "place")


def _drawn_dwellings(found: list[Found]) -> list[int]:
    places = Place.objects.filter(kind__in=DWELLINGS).in_bulk(ids_of(found, "place"))
    return [pk for pk in ids_of(found, "place") if pk in places]


def _described_equipment(ids: list[int]) -> list[Option]:
    found = Equipment.objects.select_related("place").in_bulk(ids)
    known = addresses({each.place for each in found.values()})
    return [
        Option(
            id=pk,
            title=found[pk].name,
            where=known[found[pk].place_id],
            detail=found[pk].get_kind_display(),
        )
        for pk in ids
        if pk in found
    ]


def _drawn_equipment(found: list[Found]) -> list[int]:
    inside = Equipment.objects.filter(place__in=ids_of(found, "place")).order_by(
        "place__path", "pk"
    )
    return list(
        dict.fromkeys([*ids_of(found, "equipment"), *inside.values_list("pk", flat=True)[:LIMIT]])
    )


def _described_cables(ids: list[int]) -> list[Option]:
    found = Cable.objects.select_related("a_place", "b_place").in_bulk(ids)
    return [
        Option(
            id=pk,
            title=cable_name(found[pk]),
            detail=f"{found[pk].get_kind_display()}, {counted(found[pk].fibre_count, 'fibre')}",
        )
        for pk in ids
        if pk in found
    ]


def _drawn_cables(found: list[Found]) -> list[int]:
    places = ids_of(found, "place")
    ending = Cable.objects.filter(Q(a_place__in=places) | Q(b_place__in=places)).order_by("pk")
    return list(
        dict.fromkeys([*ids_of(found, "cable"), *ending.values_list("pk", flat=True)[:LIMIT]])
    )


def _described_lines(ids: list[int]) -> list[Option]:
    found = Line.objects.select_related("place").in_bulk(ids)
    known = addresses({each.place for each in found.values()})
    legs = {
        booking.line_id: short_name(booking.leg)
        for booking in Booking.objects.open().filter(line__in=ids).select_related("leg__equipment")
    }
    return [
        Option(
            id=pk,
            title=known[found[pk].place_id],
            detail=f"line {found[pk]}, {legs.get(pk, 'no leg yet')}",
        )
        for pk in ids
        if pk in found
    ]


def _drawn_lines(found: list[Found]) -> list[int]:
    homes = Line.objects.filter(place__in=ids_of(found, "place")).order_by("place__path", "pk")
    return list(
        dict.fromkeys([*ids_of(found, "line"), *homes.values_list("pk", flat=True)[:LIMIT]])
    )


def _described_joints(ids: list[int]) -> list[Option]:
    found = Joint.objects.prefetch_related("ends").in_bulk(ids)
    names = named_points(end.point_id for each in found.values() for end in each.ends.all())
    return [
        Option(
            id=pk,
            title=" to ".join(
                names[end.point_id]
                for end in sorted(found[pk].ends.all(), key=lambda end: end.side)
            ),
            detail=found[pk].get_kind_display(),
        )
        for pk in ids
        if pk in found
    ]


def _drawn_joints(found: list[Found]) -> list[int]:
    points = drawn_points(*Role.values)(found)
    joints = dict(JointEnd.objects.filter(point__in=points).values_list("point_id", "joint_id"))
    return list(dict.fromkeys(joints[point] for point in points if point in joints))


def _described_channels(ids: list[int]) -> list[Option]:
    found = Channel.objects.select_related("optical_class", "point__equipment__place").in_bulk(ids)
    return [
        Option(
            id=pk,
            title=f"{found[pk].optical_class} at {short_name(found[pk].point)}",
            where=address(found[pk].point.place),
        )
        for pk in ids
        if pk in found
    ]


def _drawn_channels(found: list[Found]) -> list[int]:
    ports = drawn_points(Role.PON)(found)
    return list(
        Channel.objects.filter(point__in=ports)
        .order_by("point", "pk")
        .values_list("pk", flat=True)
    )


def _described_readings(ids: list[int]) -> list[Option]:
    found = Reading.objects.in_bulk(ids)
    names = named_points(each.point_id for each in found.values())
    return [
        Option(
            id=pk,
            title=_reading_level(found[pk]),
            where=names[found[pk].point_id],
            detail=f"{found[pk].taken_at:%d %b %Y, %H:%M} UTC",
        )
        for pk in ids
        if pk in found
    ]


def _reading_level(reading: Reading) -> str:
    if reading.level_mdbm is None:
        return f"no light at {reading.wavelength_nm} nm"
    return f"{reading.level_mdbm / 1000:.2f} dBm at {reading.wavelength_nm} nm"


def _drawn_readings(found: list[Found]) -> list[int]:
    points = drawn_points(*Role.values)(found)
    newest = Reading.objects.filter(point__in=points).order_by("-taken_at", "-pk")
    return list(newest.values_list("pk", flat=True)[:LIMIT])


class Source(NamedTuple):
    """How one noun is offered: described by ids, and drawn from what a text finds."""

    described: Callable[[list[int]], list[Option]]
    drawn: Callable[[list[Found]], list[int]]


PORT_ROLES = tuple(role for role in Role.values if role not in FIBRE_ENDS)

SOURCES: dict[str, Source] = {
    "point": Source(described_points, drawn_points(*Role.values)),
    "port": Source(described_points, drawn_points(*PORT_ROLES)),
    "leg": Source(described_points, drawn_points(Role.LEG)),
    "PON port": Source(described_points, drawn_points(Role.PON)),
    "place": Source(_described_places, _drawn_places),
    "dwelling": Source(_described_places, _drawn_dwellings),
    "equipment": Source(_described_equipment, _drawn_equipment),
    "cable": Source(_described_cables, _drawn_cables),
    "line": Source(_described_lines, _drawn_lines),
    "joint": Source(_described_joints, _drawn_joints),
    "channel": Source(_described_channels, _drawn_channels),
    "reading": Source(_described_readings, _drawn_readings),
}


def look_up(source: str, text: str) -> list[Option]:
    """Return what a text may mean, best first, as options of one kind."""
    described, drawn = SOURCES[source]
    return described(drawn(find(text))[:LIMIT])


def option(source: str, thing_id: int) -> Option | None:
    """Return the option of one thing, None where it does not exist."""
    found = SOURCES[source].described([thing_id])
    return found[0] if found else None


def options(source: str, ids: list[int]) -> list[Option]:
    """Return the options of some things."""
    return SOURCES[source].described(ids)
