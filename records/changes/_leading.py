"""Where legs lead, lit or dark: a booked one only to its own dwelling.

A crew wires outlets before there is a terminal to light, so light alone would notice too late that
a leg promised to one flat was led to another.
"""

from collections.abc import Iterable

from records.changes.refusals import Refusal
from records.light.plant import Spot
from records.light.spread import Lead, lead
from records.models import DWELLINGS, Place, Role
from records.queries.engine import pairs, pairs_table, rows
from records.queries.names import addresses, named_points
from records.queries.piece import reach, together

_ADAPTER_FACES = (Role.BACK, Role.FRONT)


class LedAstray(Refusal):
    """A leg booked for one dwelling would lead to another."""

    code = "led_astray"


def from_point(point: int) -> Lead:
    """Return where a joint at a point would lead, lit or dark, as far as the next splitters."""
    return lead(together([reach(point)]), point)


def refuse_astray(led: Iterable[tuple[int, Spot]]) -> None:
    """Refuse where a booked leg would lead to another dwelling's outlet. Raises: LedAstray.

    Home terminals are left to light, which says it better: what would be lit from what.
    """
    faces = {(leg, spot.id) for leg, spot in led if spot.role in _ADAPTER_FACES}
    if not faces:
        return
    found = rows(
        f"""SELECT booking.leg_id, port.id, line.identifier, line.place_id
            FROM {pairs_table()}
            JOIN records_booking booking ON booking.leg_id = pair.one
            JOIN records_line line ON line.id = booking.line_id
            JOIN records_point port ON port.id = pair.other
            JOIN records_equipment equipment ON equipment.id = port.equipment_id
            JOIN records_place place ON place.id = equipment.place_id
            WHERE booking.state IN ('held', 'live')
              AND place.kind IN (%s, %s, %s) AND place.id <> line.place_id
            ORDER BY port.id LIMIT 1""",
        [*pairs(faces), *DWELLINGS],
    )
    for leg, port, line, dwelling in found:
        names = named_points((leg, port))
        homes = addresses(Place.objects.filter(pk=dwelling))
        raise LedAstray(
            f"{names[leg]} is booked for line {line} of {homes[dwelling]}, but this leads it to "
            f"{names[port]}.",
            hint="Use the leg booked for that dwelling, or release this booking first.",
            subjects=(leg, port),
        )
