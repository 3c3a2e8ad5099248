"""What things are called in a pack, in short: the owner first, then where it stands."""

from functools import cached_property

from records.handover.names import Names
from records.models import FIBRE_ENDS, Place, Role
from records.queries.as_built import AsBuilt
from records.queries.legs import Leg
from records.queries.paths import Hop


class PackNames(Names):
    """The names of one pack's things, in one of the two forms."""

    def __init__(self, built: AsBuilt, *, has_addresses: bool) -> None:
        """Take what was read."""
        known = built.known
        super().__init__(
            built.place, known.places.values(), known.first_lines, has_addresses=has_addresses
        )
        self._known = known
        self._ours = {each.pk for each in built.places}

    def home_of(self, leg: Leg) -> str:
        """Return where the home is that a leg is promised to."""
        place = self._homes.get(leg.dwelling_id or 0)
        return self.where(place) if place else ""

    @cached_property
    def _homes(self) -> dict[int, Place]:
        return {each.pk: each for each in self._known.places.values() if each.is_dwelling}

    def where(self, place: Place) -> str:
        """Return where a place is, widest first; inside the pack's place from below that on."""
        around = self._known.around_of(place)
        if place.pk in self._ours:
            around = [each for each in around if each.pk in self._ours][1:] or [place]
        if not self.has_addresses and place.is_dwelling:
            around = [place]
        return ", ".join(self.place(each) for each in around)

    def owner(self, hop: Hop) -> str:
        """Return what the thing at a hop is called."""
        spot = hop.spot
        if spot.equipment_id is not None:
            return self.equipment(self._known.equipment[spot.equipment_id])
        return self.cable(self._known.cables[spot.cable_id or 0])

    def where_of(self, hop: Hop) -> str:
        """Return where the thing at a hop stands; nothing for a cable, which lies between."""
        equipment = self._known.equipment.get(hop.spot.equipment_id or 0)
        return self.where(equipment.place) if equipment else ""

    def leg(self, point_id: int) -> str:
        """Return a splitter and the number of its leg, as a schedule of homes names it."""
        spotted = self._known.points[point_id]
        equipment = self._known.equipment[spotted.equipment_id or 0]
        return f"{self.equipment(equipment)} leg {spotted.number}"

    def point(self, point_id: int | None, here: Place | None = None) -> str:
        """Return what a point is called, and where it stands unless that is here."""
        spotted = self._known.points.get(point_id or 0)
        if spotted is None:
            return ""
        if spotted.role in FIBRE_ENDS:
            cable = self.cable(self._known.cables[spotted.cable_id or 0])
            return f"{cable} fibre {spotted.number} {spotted.role}"
        equipment = self._known.equipment[spotted.equipment_id or 0]
        own = f"{self.equipment(equipment)} {Role(spotted.role).label} {spotted.number}"
        return own if equipment.place == here else f"{own}, {self.where(equipment.place)}"
