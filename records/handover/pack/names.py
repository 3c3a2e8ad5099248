"""What things are called in a pack: with addresses, or without them, which is usual.

Without addresses a home goes by its line, which says nothing to those who have no record; an
estate or building by its number in the record; a name or remark that repeats an address stays
away. That leaves numbers and the names that a crew gave to plant.
Source: GDPR art. 5(1)(c) and 25, as reference/administration.md 5 reads them for this record.
"""

from functools import cached_property
from typing import Final

from labels.neutral_names import NeutralNames
from records.models import FIBRE_ENDS, Cable, Equipment, Place, PlaceKind, Role
from records.queries.as_built import AsBuilt
from records.queries.legs import Leg
from records.queries.paths import Hop

NUMBERED: Final = (PlaceKind.ESTATE, PlaceKind.BUILDING)
"""Kinds of place that go by number where addresses stay away."""

LEFT_OUT: Final = "left out, as it repeats an address"


class Names:
    """The names of one pack's things, in one of the two forms."""

    def __init__(self, built: AsBuilt, *, has_addresses: bool) -> None:
        """Take what was read."""
        self.has_addresses = has_addresses
        self._built = built
        self._known = built.known
        self._ours = {each.pk for each in built.places}

    @cached_property
    def _neutral(self) -> NeutralNames:
        return NeutralNames(self._known.places.values())

    def place(self, place: Place) -> str:
        """Return what a place is called."""
        if self.has_addresses:
            return place.name
        if place.is_dwelling:
            return self.home(place.pk)
        if place.kind in NUMBERED:
            return f"{place.kind} {place.pk}"
        if place.kind == PlaceKind.FLOOR:
            return place.name
        return self._neutral.of(place.name, place) or f"{place.kind} {place.pk}"

    def home(self, place_id: int) -> str:
        """Return the line by which a dwelling goes where addresses stay away."""
        return self._known.first_lines.get(place_id) or f"home {place_id}"

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

    def equipment(self, equipment: Equipment) -> str:
        """Return what an equipment is called."""
        if self.has_addresses:
            return equipment.name
        neutral = self._neutral.of(equipment.name, equipment.place)
        return neutral or f"{equipment.kind} {equipment.pk}"

    def cable(self, cable: Cable) -> str:
        """Return what a cable is called."""
        if self.has_addresses:
            return cable.name
        return self._neutral.of_cable(cable) or f"{cable.kind} {cable.pk}"

    def said(self, text: str, place: Place) -> str:
        """Return a remark of a person on a thing, or that it was left out."""
        if self.has_addresses or not text:
            return text
        return self._neutral.of(text, place) or LEFT_OUT

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
        own = f"{self.equipment(equipment)} {_port(spotted.role, spotted.number)}"
        return own if equipment.place == here else f"{own}, {self.where(equipment.place)}"


def _port(role: str, number: int) -> str:
    return f"{Role(role).label} {number}"
