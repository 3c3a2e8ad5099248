"""A building by floors and dwellings: lines, legs, terminals, light and readings."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from records.models import (
    DWELLINGS,
    Booking,
    Equipment,
    EquipmentKind,
    Line,
    Place,
    PlaceKind,
    Point,
    Reading,
    Role,
)
from records.queries.inside import places_in
from records.queries.legs import LegCounts, after_all_inside, leg_counts
from records.queries.levels import Lit, lit_at
from records.queries.names import named_points
from records.queries.readings import Judged, judged, with_last_good
from records.queries.words import natural


@dataclass(frozen=True, slots=True, kw_only=True)
class LineOf:
    """A line of a dwelling and the leg promised to it, if any."""

    line_id: int
    identifier: str
    state: str
    leg_id: int | None
    leg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalOf:
    """A home terminal, the light at its port and the latest reading there."""

    equipment_id: int
    point_id: int
    name: str
    serial: str
    lit: tuple[Lit, ...]
    reading: Judged | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dwelling:
    """A flat, house or unit with its lines and terminals."""

    place: Place
    lines: tuple[LineOf, ...]
    terminals: tuple[TerminalOf, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """A floor of a building; `place` is None for dwellings directly in the building."""

    place: Place | None
    dwellings: tuple[Dwelling, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Building:
    """A place with its floors from the top down, other places in it, and its splitters."""

    place: Place
    floors: tuple[Floor, ...]
    others: tuple[Place, ...]
    splitters: tuple[tuple[Equipment, LegCounts], ...]
    counts: LegCounts


def building(place: Place) -> Building:
    """Return all that a building's page shows, with a fixed number of queries."""
    inside = list(places_in(place))
    by_place = dwellings([each for each in inside if each.kind in DWELLINGS])
    splitters = _splitters(place)
    return Building(
        place=place,
        floors=tuple(_floors(inside, by_place)),
        others=tuple(
            each
            for each in inside
            if each.kind not in DWELLINGS and each.kind != PlaceKind.FLOOR and each != place
        ),
        splitters=splitters,
        counts=sum((counts for _, counts in splitters), LegCounts()),
    )


def _floors(inside: list[Place], known: dict[int, Dwelling]) -> Iterable[Floor]:
    by_parent: dict[str, list[Dwelling]] = {}
    for each in inside:
        if each.pk in known:
            parent = each.path[: -Place.steplen]
            by_parent.setdefault(parent, []).append(known[each.pk])
    floors = [each for each in inside if each.kind == PlaceKind.FLOOR]
    for each in sorted(floors, key=_storey, reverse=True):
        yield Floor(place=each, dwellings=_in_order(by_parent.get(each.path, [])))
    floor_paths = {each.path for each in floors}
    loose = [d for path, listed in by_parent.items() if path not in floor_paths for d in listed]
    if loose:
        yield Floor(place=None, dwellings=_in_order(loose))


def dwellings_of(place: Place) -> list[Place]:
    """Return the dwellings in a place, floor by floor from the ground up, in natural order."""
    inside = list(places_in(place))
    storeys = {each.path: _storey(each) for each in inside if each.kind == PlaceKind.FLOOR}
    found = [each for each in inside if each.kind in DWELLINGS]
    ground = (-1000, "")
    return sorted(
        found,
        key=lambda each: (
            storeys.get(each.path[: -Place.steplen], ground),
            natural(each.name),
        ),
    )


def _storey(place: Place) -> tuple[int, str]:
    return (place.storey if place.storey is not None else -1000, place.name)


def _in_order(listed: list[Dwelling]) -> tuple[Dwelling, ...]:
    return tuple(sorted(listed, key=lambda each: natural(each.place.name)))


def dwellings(places: list[Place]) -> dict[int, Dwelling]:
    """Return dwellings with their lines, light and latest readings, by the place's id."""
    lines = _lines(places)
    terminals = _terminals(places)
    return {
        each.pk: Dwelling(
            place=each,
            lines=tuple(lines.get(each.pk, ())),
            terminals=tuple(terminals.get(each.pk, ())),
        )
        for each in places
    }


def _lines(places: list[Place]) -> dict[int, list[LineOf]]:
    lines = list(Line.objects.filter(place__in=places).order_by("pk"))
    bookings = {
        booking.line_id: booking for booking in Booking.objects.open().filter(line__in=lines)
    }
    names = named_points(booking.leg_id for booking in bookings.values())
    found: dict[int, list[LineOf]] = {}
    for line in lines:
        booking = bookings.get(line.pk)
        found.setdefault(line.place_id, []).append(
            LineOf(
                line_id=line.pk,
                identifier=line.identifier,
                state=booking.state if booking else "",
                leg_id=booking.leg_id if booking else None,
                leg=names[booking.leg_id] if booking else "",
            )
        )
    return found


def _terminals(places: list[Place]) -> dict[int, list[TerminalOf]]:
    of_terminals = Point.objects.filter(role=Role.TERMINAL, equipment__place__in=places)
    ports = list(of_terminals.select_related("equipment").order_by("pk"))
    light: dict[int, list[Lit]] = {}
    for each in lit_at(port.pk for port in ports):
        light.setdefault(each.point_id, []).append(each)
    latest = with_last_good(judged(_latest_readings(ports), light))
    readings = {each.reading.point_id: each for each in latest}
    found: dict[int, list[TerminalOf]] = {}
    for port in ports:
        if port.equipment is not None:
            found.setdefault(port.equipment.place_id, []).append(
                TerminalOf(
                    equipment_id=port.equipment.pk,
                    point_id=port.pk,
                    name=port.equipment.name,
                    serial=port.equipment.serial,
                    lit=tuple(light.get(port.pk, ())),
                    reading=readings.get(port.pk),
                )
            )
    return found


def _latest_readings(ports: list[Point]) -> list[Reading]:
    newest_first = Window(
        RowNumber(),
        partition_by=F("point"),
        order_by=[F("taken_at").desc(), F("id").desc()],
    )
    ranked = Reading.objects.filter(point__in=ports, direction="down").alias(rank=newest_first)
    return list(ranked.filter(rank=1))


def _splitters(place: Place) -> tuple[tuple[Equipment, LegCounts], ...]:
    found = list(
        Equipment.objects.filter(
            kind=EquipmentKind.SPLITTER,
            place__path__gte=place.path,
            place__path__lt=after_all_inside(place),
        ).select_related("place", "entry")
    )
    counts = leg_counts(each.pk for each in found)
    ordered = sorted(found, key=lambda each: natural(f"{each.place.name} {each.name}"))
    return tuple((each, counts.get(each.pk, LegCounts())) for each in ordered)
