"""Verbs for lines: open one more for a dwelling."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from records.changes import _search
from records.changes._checks import existing_all, text
from records.changes._transaction import OpenChange, for_many, verb
from records.changes.refusals import NameTaken, Refusal
from records.models import Booking, Line, Place
from records.queries.names import address


class NotADwelling(Refusal):
    """A line or home terminal in a place where nobody lives or works."""

    code = "not_a_dwelling"
    status = 422


class LineStillBooked(Refusal):
    """A dwelling can't go while a leg is promised to it."""

    code = "line_still_booked"


@verb
def open(  # noqa: A001 (the trade's verb; callers write lines.open)
    change: OpenChange, *, place: int, identifier: str = "", outside_ref: str = ""
) -> Line:
    """Open a line for a dwelling. Without an identifier it gets the next number.

    Raises: Malformed, Missing, NotADwelling, NameTaken.
    """
    (line,) = open_all(change, [NewLine(place, identifier, outside_ref)])
    change.say(f"opened line {line.identifier} for {address(line.place)}")
    return line


@dataclass(frozen=True, slots=True)
class NewLine:
    """A line to open: see `open`."""

    place: int
    identifier: str = ""
    outside_ref: str = ""


@for_many
def open_all(_change: OpenChange, wanted: Sequence[NewLine]) -> list[Line]:
    """Open many lines. Raises: what `open` raises."""
    dwellings = existing_all(Place.objects, (each.place for each in wanted), field="place")
    for dwelling in dwellings.values():
        refuse_no_dwelling(dwelling, "A line")
    given = [text(each.identifier, 30, field="identifier").upper() for each in wanted]
    _refuse_taken([identifier for identifier in given if identifier])

    fresh = _next_identifiers(given.count(""), but=set(given))
    opened = Line.objects.bulk_create(
        Line(
            identifier=identifier or fresh.pop(0),
            place=dwellings[each.place],
            outside_ref=text(each.outside_ref, 60, field="outside_ref"),
        )
        for each, identifier in zip(wanted, given, strict=True)
    )
    _search.index_lines(opened)
    return opened


def _refuse_taken(identifiers: list[str]) -> None:
    there = Line.objects.filter(identifier__in=identifiers).values_list("identifier", flat=True)
    taken = set(there) if identifiers else set()
    for identifier in identifiers:
        if identifier in taken:
            raise NameTaken(
                f"There is already a line {identifier}.",
                hint="Identifiers are never used twice; choose another.",
                field="identifier",
            )
        taken.add(identifier)


def _next_identifiers(count: int, *, but: set[str]) -> list[str]:
    """Return the next numbers that no line has: lines are never deleted, so none comes twice."""
    if not count:
        return []
    latest = Line.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
    found: list[str] = []
    while len(found) < count:
        offered = [f"L{latest + ahead:06d}" for ahead in range(1, count - len(found) + 1)]
        there = Line.objects.filter(identifier__in=offered)
        taken = but.union(there.values_list("identifier", flat=True))
        found += [identifier for identifier in offered if identifier not in taken]
        latest += len(offered)
    return found


def refuse_no_dwelling(place: Place, what: str) -> None:
    """Refuse what only a dwelling can have elsewhere. Raises: NotADwelling."""
    if not place.is_dwelling or place.retired:
        gone = " that is retired" if place.retired else ""
        raise NotADwelling(
            f"{what} belongs to a flat, house or unit; {address(place)} is a {place.kind}{gone}.",
            hint="Choose the dwelling itself.",
            field="place",
            subjects=(place.pk,),
        )


def refuse_promised(places: "QuerySet[Place]", what: str) -> None:
    """Refuse while a leg is promised to a line there. Raises: LineStillBooked."""
    held = Booking.objects.open().filter(line__place__in=places).select_related("line").first()
    if held is not None:
        raise LineStillBooked(
            f"{what}: line {held.line} still has a leg.",
            hint="Release its booking first.",
            subjects=(held.leg_id,),
        )
