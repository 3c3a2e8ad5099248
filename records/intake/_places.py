"""The places in the record around a sheet, read with three queries and looked up by name."""

from collections import defaultdict
from collections.abc import Iterable
from functools import reduce
from operator import or_

from django.db.models import Q

from records.intake._cells import Storey
from records.intake._entries import Entry
from records.intake._keys import flat_key, name_key
from records.models import DWELLINGS, Place, PlaceKind
from records.queries.legs import after_all_inside


def inside(places: Iterable[Place], prefix: str = "") -> Q:
    """Return the condition of standing in one of some places, as ranges of their paths."""
    path = f"{prefix}path"
    ranges = [Q(**{f"{path}__gte": p.path, f"{path}__lt": after_all_inside(p)}) for p in places]
    return reduce(or_, ranges, Q(pk__in=[]))


class Places:
    """The estates and buildings that a sheet names, and all places inside those buildings."""

    def __init__(self, entries: Iterable[Entry], estate: str) -> None:
        """Read them. `estate` is for rows that name none."""
        listed = list(entries)
        roots = Place.objects.get_root_nodes().filter(kind=PlaceKind.ESTATE, retired=False)
        self._estates = {name_key(each.name): each for each in roots}
        self._default = estate or self._only_estate()
        named = {name_key(self.estate_name(each)) for each in listed}
        self.estates = [place for key, place in self._estates.items() if key in named]
        self.buildings = self._named_buildings({name_key(each.building) for each in listed})
        self._floors: dict[int, list[Place]] = defaultdict(list)
        self._cupboards: dict[int, list[Place]] = defaultdict(list)
        self._dwellings: dict[tuple[int, str], list[Place]] = defaultdict(list)
        self._read_inside()

    def _only_estate(self) -> str:
        names = [place.name for place in self._estates.values()]
        return names[0] if len(names) == 1 else ""

    def _named_buildings(self, names: set[str]) -> list[Place]:
        found = Place.objects.filter(
            inside(self.estates), kind=PlaceKind.BUILDING, retired=False
        ).order_by("path")
        return [each for each in found if name_key(each.name) in names]

    def _read_inside(self) -> None:
        by_path = {each.path: each for each in self.buildings}
        for place in Place.objects.filter(inside(self.buildings), retired=False).order_by("path"):
            around = _nearest(place.path, by_path)
            if place.kind == PlaceKind.FLOOR:
                self._floors[around.pk].append(place)
            elif place.kind == PlaceKind.CUPBOARD:
                self._cupboards[around.pk].append(place)
            elif place.kind in DWELLINGS:
                self._dwellings[around.pk, flat_key(place.name)].append(place)

    def estate_name(self, entry: Entry) -> str:
        """Return the estate a row means, empty where none is clear."""
        return entry.estate or self._default

    def estate_names(self) -> list[str]:
        """Return the names of all estates in the record."""
        return sorted(place.name for place in self._estates.values())

    def estate(self, name: str) -> Place | None:
        """Return an estate by its name."""
        return self._estates.get(name_key(name))

    def buildings_in(self, estate: Place, name: str) -> list[Place]:
        """Return the buildings of a name in an estate."""
        return [
            each
            for each in self.buildings
            if each.path.startswith(estate.path) and name_key(each.name) == name_key(name)
        ]

    def floor(self, building: int, storey: Storey) -> Place | None:
        """Return a floor of a building."""
        return next((each for each in self._floors[building] if _is_at(each, storey)), None)

    def dwellings(self, building: int, name: str) -> list[Place]:
        """Return the flats, houses and units of a name in a building, on any floor."""
        return self._dwellings[building, flat_key(name)]

    def floor_under(self, dwelling: Place, building: int) -> Place | None:
        """Return the floor a dwelling is on, None where it stands in the building itself."""
        parent = dwelling.path[: -Place.steplen]
        return next((each for each in self._floors[building] if each.path == parent), None)

    def cupboard(self, building: int, name: str) -> Place | None:
        """Return a riser cupboard by its name, the one nearest to the building itself."""
        found = [e for e in self._cupboards[building] if name_key(e.name) == name_key(name)]
        return min(found, key=lambda each: each.depth, default=None)


def _nearest(path: str, by_path: dict[str, Place]) -> Place:
    """Return the innermost of some buildings around a path."""
    ends = range(len(path), 0, -Place.steplen)
    return next(by_path[path[:end]] for end in ends if path[:end] in by_path)


def _is_at(floor: Place, storey: Storey) -> bool:
    if storey.number is not None and floor.storey is not None:
        return floor.storey == storey.number
    return name_key(floor.name) == name_key(storey.name)
