"""What things are called in what is handed over: with addresses, or without them.

Without addresses a home goes by its line, which says nothing to those who have no record, an
estate or building by its number in the record, and notes in a person's words stay away. That is
the usual form. Floors, cupboards and what a crew gave a name, such as a splitter or a cable, are
called the same in both.
"""

from collections.abc import Iterable

from records.models import DWELLINGS, Line, Place, PlaceKind, Point, Role
from records.queries.names import port_label
from records.queries.plant_inside import PlantInside

_NAMED_BY_NUMBER = {PlaceKind.ESTATE, PlaceKind.BUILDING}


class Naming:
    """The names of homes, places and points of a plant, in one of the two forms."""

    def __init__(self, plant: PlantInside, *, has_addresses: bool) -> None:
        """Find the line by which each home goes where addresses stay away."""
        self.has_addresses = has_addresses
        self._plant = plant
        self._line_of = _first_lines(plant.lines.values())

    def home(self, home: Place) -> str:
        """Return what a dwelling is called: its name, or without addresses its line."""
        if self.has_addresses:
            return home.name
        return self._line_of.get(home.pk) or f"home {home.pk}"

    def booked_home(self, line: Line) -> str:
        """Return what the dwelling of a line is called, which may stand outside."""
        return line.place.name if self.has_addresses else self.home_line(line)

    def home_line(self, line: Line) -> str:
        """Return the line by which its dwelling goes."""
        return self._line_of.get(line.place_id, line.identifier)

    def where(self, home: Place) -> tuple[str, str, str]:
        """Return the names of a dwelling's estate, building and floor, empty for none."""
        estate, building, floor = (
            self._plant.nearest(home, kind)
            for kind in (PlaceKind.ESTATE, PlaceKind.BUILDING, PlaceKind.FLOOR)
        )
        return self.place(estate), self.place(building), self.place(floor)

    def note(self, text: str) -> str:
        """Return a note that a person wrote; empty without addresses, as it may hold one."""
        return text if self.has_addresses else ""

    def place(self, place: Place | None) -> str:
        """Return what a place is called; empty for none."""
        if place is None:
            return ""
        if place.kind in DWELLINGS:
            return self.home(place)
        if place.kind in _NAMED_BY_NUMBER and not self.has_addresses:
            return f"{place.kind} {place.pk}"
        return place.name

    def point(self, point_id: int | None) -> str:
        """Return what a point is called, with its home or place where it is a port."""
        point = self._plant.points.get(point_id or 0)
        if point is None:
            return ""
        equipment = self._plant.owner(point)
        if equipment is not None:
            return f"{port_label(point)} of {equipment.name} ({self.place(equipment.place)})"
        return self._fibre_end(point)

    def _fibre_end(self, point: Point) -> str:
        cable = self._plant.cable_of(point) or point.cable
        end = "A end" if point.role == Role.A_END else "B end"
        return f"{end} of fibre {point.number} of {cable.name if cable else '?'}"


def _first_lines(lines: Iterable[Line]) -> dict[int, str]:
    found: dict[int, str] = {}
    for line in sorted(lines, key=lambda each: each.pk):
        found.setdefault(line.place_id, line.identifier)
    return found
