"""What things are called in what is handed over: with addresses, or without them, which is usual.

Without addresses a home goes by its line, which says nothing to those who have no record; an
estate or building by its number in the record, a floor by its storey, and any other thing whose
name repeats an address by its number. What people wrote stays away. That leaves numbers and the
names that a crew gave to plant.
Source: GDPR art. 5(1)(c) and 25: no more than the purpose needs, and that by default.
"""

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Final

from labels.neutral_names import NeutralNames
from records.models import Cable, Equipment, Place, PlaceKind
from records.queries.names import floor_name

KEPT: Final = "told in the record"
"""What stands for the words of people where addresses stay away."""

_NUMBERED: Final = {PlaceKind.ESTATE, PlaceKind.BUILDING, PlaceKind.FLOOR}
"""Kinds of place whose own name is part of an address."""


class Names:
    """The names of places and plant, in one of the two forms."""

    def __init__(
        self,
        handed_over: Place,
        places: Iterable[Place],
        first_lines: Mapping[int, str],
        *,
        has_addresses: bool,
    ) -> None:
        """Take the place handed over, those things stand in, and each home's first line."""
        self.has_addresses = has_addresses
        self._handed_over, self._places = handed_over, places
        self._first_lines = first_lines
        self._told: dict[tuple[str, ...], bool] = {}

    def place(self, place: Place) -> str:
        """Return what a place is called."""
        if self.has_addresses:
            return place.name
        if place.is_dwelling:
            return self.home(place)
        if place.kind == PlaceKind.FLOOR and place.storey is not None:
            return floor_name(place.storey)
        is_numbered = place.kind in _NUMBERED or self._tells(place.name, place)
        return f"{place.kind} {place.pk}" if is_numbered else place.name

    def home(self, place: Place) -> str:
        """Return what a dwelling is called: its name, or without addresses its line."""
        if self.has_addresses:
            return place.name
        return self._first_lines.get(place.pk) or f"home {place.pk}"

    def equipment(self, equipment: Equipment) -> str:
        """Return what an equipment is called."""
        if self.has_addresses or not self._tells(equipment.name, equipment.place):
            return equipment.name
        return f"{equipment.kind} {equipment.pk}"

    def cable(self, cable: Cable) -> str:
        """Return what a cable or patch cord is called."""
        if self.has_addresses or not self._tells(cable.name, cable.a_place, cable.b_place):
            return cable.name
        return f"{cable.kind} {cable.pk}"

    def said(self, text: str) -> str:
        """Return what a person wrote on a thing, or where it is told; nothing of nothing."""
        return text if self.has_addresses or not text else KEPT

    def mark(self, text: str, place: Place) -> str:
        """Return what a crew marked a thing with, such as a tray's number."""
        return text if self.has_addresses or not self._tells(text, place) else KEPT

    def _tells(self, name: str, *places: Place) -> bool:
        """Tell whether a name repeats an address, that of its place or of the one handed over."""
        key = (name, *(each.path for each in places))
        if key not in self._told:
            around = (*places, self._handed_over)
            self._told[key] = not all(self._neutral.of(name, each) for each in around)
        return self._told[key]

    @cached_property
    def _neutral(self) -> NeutralNames:
        return NeutralNames([*self._places, self._handed_over])
