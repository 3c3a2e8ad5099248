"""What a label must not say: a name that repeats an address is left out."""

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Final

from django.db.models import Count, Q

from labels.item import Plate
from records.models import Cable, Place, PlaceKind
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

PLATED: Final = (
    PlaceKind.CUPBOARD,
    PlaceKind.CABINET,
    PlaceKind.CHAMBER,
    PlaceKind.POLE,
    PlaceKind.HEAD_END,
)
"""The kinds of place that have a plate of their own."""


_AT_ONCE: Final = 200
"""Buildings asked about in one statement, of which either engine makes light work."""

_TELLING: Final = re.compile(r"[^\W\d_]{2}")
"""A name without two letters in a row, such as 12 or B2, tells no one where it is."""


class NeutralNames:
    """Names as labels may show them, for things in some places."""

    def __init__(self, places: Iterable[Place]) -> None:
        """Read once what the places around are called, and the dwellings of their buildings."""
        listed = list(places)
        around = {path for place in listed for path in _around(place)}
        addressed = Place.objects.filter(kind__in=ADDRESSED)
        rows = list(addressed.filter(path__in=around).values_list("path", "kind", "name"))
        self._names = {path: _words(name) for path, _kind, name in rows}
        self._homes: dict[str, frozenset[str]] = {}
        buildings = [path for path, kind, _name in rows if kind == PlaceKind.BUILDING]
        for path, names in _named_inside(buildings).items():
            self._homes[path] = frozenset(filter(None, map(_words, names)))
        self._doubled = _doubled({each.name for each in listed if each.kind in PLATED})

    def of(self, name: str, place: Place) -> str:
        """Return a thing's name, or nothing where it repeats an address.

        That is the name of a place around it, or of a flat or floor of its building.
        """
        words = f" {normalised(name)} "
        for path in _around(place):
            said = self._names.get(path)
            if (said and said in words) or self._homes.get(path, frozenset()) & _parts(words):
                return ""
        return name

    def of_cable(self, cable: Cable) -> str:
        """Return a cable's name, or nothing where it repeats the address of one of its ends."""
        return self.of(cable.name, cable.a_place) and self.of(cable.name, cable.b_place)

    def plate(self, place: Place) -> Plate:
        """Return what stands on a place's plate.

        Its name, if it has a plate, the name is no address, and no other place has the same.
        """
        has_name = place.kind in PLATED and place.name not in self._doubled
        return Plate(place.pk, self.of(place.name, place) if has_name else "")


def _named_inside(buildings: Sequence[str]) -> dict[str, list[str]]:
    """Return the names of the floors and dwellings of buildings, by the buildings' paths."""
    found: dict[str, list[str]] = {path: [] for path in buildings}
    lengths = {len(path) for path in buildings}
    for start in range(0, len(buildings), _AT_ONCE):
        inside = Q()
        for path in buildings[start : start + _AT_ONCE]:
            inside |= Q(path__gt=path, path__lt=f"{path}~")
        rows = Place.objects.filter(inside, kind__in=ADDRESSED).order_by()
        for path, name in rows.values_list("path", "name"):
            for around in (path[:length] for length in lengths):
                if around in found and around != path:
                    found[around].append(name)
    return found


def _words(name: str) -> str:
    """Return a place's name between spaces, or nothing where it tells no one where it is."""
    return f" {normalised(name)} " if _TELLING.search(name) else ""


@lru_cache(maxsize=4096)
def _parts(words: str) -> frozenset[str]:
    """Return all runs of consecutive words, each between spaces."""
    listed = words.split()
    return frozenset(
        f" {' '.join(listed[start:end])} "
        for start in range(len(listed))
        for end in range(start + 1, len(listed) + 1)
    )


def _around(place: Place) -> Iterable[str]:
    path: str = place.path
    return (path[:end] for end in range(Place.steplen, len(path) + 1, Place.steplen))


def _doubled(names: Iterable[str]) -> Mapping[str, int]:
    """Return which of these names more than one place with a plate has."""
    found = Place.objects.filter(name__in=list(names), kind__in=PLATED, retired=False)
    counted = (
        found.order_by().values("name").annotate(count=Count("pk")).values_list("name", "count")
    )
    return {name: count for name, count in counted if count > 1}
