"""What a label must not say: a name that repeats an address is left out."""

from collections.abc import Iterable
from typing import Final

from records.models import Cable, Equipment, Place, PlaceKind
from records.queries.words import normalised

ADDRESSED: Final = (
    PlaceKind.ESTATE,
    PlaceKind.BUILDING,
    PlaceKind.FLOOR,
    PlaceKind.FLAT,
    PlaceKind.HOUSE,
    PlaceKind.UNIT,
)
"""The kinds of place whose names are part of an address."""


class NeutralNames:
    """The names of boxes as labels may show them, for boxes in some places."""

    def __init__(self, places: Iterable[Place]) -> None:
        """Read once what the places around are called."""
        paths = {
            place.path[:end]
            for place in places
            for end in range(Place.steplen, len(place.path) + 1, Place.steplen)
        }
        self._names = dict(
            Place.objects.filter(path__in=paths, kind__in=ADDRESSED).values_list("path", "name")
        )

    def of(self, equipment: Equipment) -> str:
        """Return an equipment's name, or nothing where it repeats an address."""
        path = equipment.place.path
        around = [name for at, name in self._names.items() if path.startswith(at)]
        return "" if _repeats(equipment.name, around) else equipment.name


def neutral_cable_name(cable: Cable) -> str:
    """Return a cable's name, or nothing where it repeats the address of one of its ends."""
    ends = [place.name for place in (cable.a_place, cable.b_place) if place.kind in ADDRESSED]
    return "" if _repeats(cable.name, ends) else cable.name


def _repeats(name: str, places: Iterable[str]) -> bool:
    """Tell whether a name holds the name of a place, word by word."""
    words = f" {normalised(name)} "
    return any(f" {normalised(place)} " in words for place in places)
