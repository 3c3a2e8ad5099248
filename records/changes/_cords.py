"""What a cord that patches two ports is called, where it lies, and its two plugs."""

from collections.abc import Sequence

from records.changes.refusals import Malformed
from records.models import Cable, Point
from records.queries.names import short_name


def standing_places(points: Sequence[Point]) -> list[int]:
    """Return where two ports stand. Raises: Malformed for a fibre end."""
    for point, field in zip(points, ("a", "b"), strict=True):
        if point.equipment is None:
            raise Malformed(
                f"{short_name(point)} is a fibre end; a cord goes between two ports.",
                hint="Join the fibre end itself instead.",
                field=field,
            )
    return [point.equipment.place_id for point in points if point.equipment is not None]


def cord_names(wanted: Sequence[tuple[int, str]]) -> list[str]:
    """Return the names of cords by where they start; where none is given, the next number."""
    starts = {a_place for a_place, name in wanted if not name}
    there = Cable.objects.filter(a_place__in=starts, name__istartswith=_NUMBERED)
    taken: dict[int, set[str]] = {a_place: set() for a_place, _name in wanted}
    for a_place, name in there.values_list("a_place", "name") if starts else ():
        taken[a_place].add(name.upper())
    found = []
    for a_place, given in wanted:
        name = given or _next_cord_name(taken[a_place])
        if name.upper().startswith(_NUMBERED):
            taken[a_place].add(name.upper())
        found.append(name)
    return found


_NUMBERED = "CORD "


def _next_cord_name(taken: set[str]) -> str:
    number = len(taken) + 1
    while f"{_NUMBERED}{number}" in taken:
        number += 1
    return f"{_NUMBERED}{number}"


def plugs(cords: Sequence[Cable]) -> dict[int, list[int]]:
    """Return the A end and the B end of the first fibre of each cord."""
    ends = Point.objects.filter(passage__cable__in=cords, number=1).order_by("side")
    found: dict[int, list[int]] = {}
    for cord, end in ends.values_list("passage__cable", "pk"):
        found.setdefault(cord, []).append(end)
    return found
