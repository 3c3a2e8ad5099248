"""Verbs for lines: open one more for a dwelling."""

from django.db.models import QuerySet

from records.changes import _search
from records.changes._checks import existing, text
from records.changes._transaction import OpenChange, verb
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
    dwelling = existing(Place.objects, place, field="place")
    refuse_no_dwelling(dwelling, "A line")
    identifier = text(identifier, 30, field="identifier").upper()
    if identifier and Line.objects.filter(identifier=identifier).exists():
        raise NameTaken(
            f"There is already a line {identifier}.",
            hint="Identifiers are never used twice; choose another.",
            field="identifier",
        )

    line = Line.objects.create(
        identifier=identifier or _next_identifier(),
        place=dwelling,
        outside_ref=text(outside_ref, 60, field="outside_ref"),
    )
    _search.index_lines([line])
    change.say(f"opened line {line.identifier} for {address(dwelling)}")
    return line


def _next_identifier() -> str:
    """Return the next number that no line has: lines are never deleted, so none comes twice."""
    latest = Line.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
    while Line.objects.filter(identifier=f"L{latest + 1:06d}").exists():
        latest += 1
    return f"L{latest + 1:06d}"


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
