"""What things are called in exports: as the files that are taken in call them."""

from collections.abc import Iterable

from records.handover.names import Names
from records.models import Line, Place, PlaceKind, Point, Role
from records.queries.names import port_label
from records.queries.plant_inside import PlantInside


class ExportNames(Names):
    """The names of a plant's places, equipment, cables and points, in one of the two forms."""

    def __init__(
        self, plant: PlantInside, *, has_addresses: bool, elsewhere: Iterable[Place] = ()
    ) -> None:
        """Take a plant, and the places of things that it is fed by elsewhere."""
        # Ordered by number, so that of a home's lines the first is taken last and stays.
        lines = sorted(_lines(plant).values(), key=lambda each: each.pk, reverse=True)
        super().__init__(
            plant.place,
            (*plant.around, *plant.places.values(), *_places(plant), *elsewhere),
            {each.place_id: each.identifier for each in lines},
            has_addresses=has_addresses,
        )
        self._plant = plant

    def around(self, home: Place) -> tuple[str, str, str]:
        """Return the names of a dwelling's estate, building and floor, empty for none."""
        kinds = (PlaceKind.ESTATE, PlaceKind.BUILDING, PlaceKind.FLOOR)
        found = (self._plant.nearest(home, kind) for kind in kinds)
        estate, building, floor = (self.place(each) if each else "" for each in found)
        return estate, building, floor

    def note(self, text: str) -> str:
        """Return a note as a column holds it that is taken in: empty where notes stay away."""
        return text if self.has_addresses else ""

    def owner(self, point_id: int) -> str:
        """Return what the equipment of a port is called."""
        equipment = self._plant.owner(self._plant.points[point_id])
        return self.equipment(equipment) if equipment else ""

    def point(self, point_id: int | None) -> str:
        """Return what a point is called, with its home or place where it is a port."""
        point = self._plant.points.get(point_id or 0)
        if point is None:
            return ""
        equipment = self._plant.owner(point)
        if equipment is not None:
            name, where = self.equipment(equipment), self.place(equipment.place)
            return f"{port_label(point)} of {name} ({where})"
        return self._fibre_end(point)

    def _fibre_end(self, point: Point) -> str:
        cable = self._plant.cable_of(point) or point.cable
        end = "A end" if point.role == Role.A_END else "B end"
        return f"{end} of fibre {point.number} of {self.cable(cable) if cable else '?'}"


def _lines(plant: PlantInside) -> dict[int, Line]:
    """Return the lines inside, and those outside that legs inside are promised to."""
    return {each.line.pk: each.line for each in plant.bookings.values()} | plant.lines


def _places(plant: PlantInside) -> Iterable[Place]:
    """Yield the places outside in which things end or stand that are joined to those inside."""
    for point in plant.points.values():
        if point.equipment_id not in plant.equipment and point.equipment is not None:
            yield point.equipment.place
        cable = plant.cable_of(point) or (point.cable if point.equipment_id is None else None)
        if cable is not None:
            yield from (cable.a_place, cable.b_place)
