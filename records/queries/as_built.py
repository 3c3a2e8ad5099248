"""All that is handed over of a place, read with a number of queries that its homes don't raise."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from django.contrib.auth import get_user_model

from records.models import (
    DWELLINGS,
    Cable,
    Change,
    Equipment,
    EquipmentKind,
    HazardStatement,
    Place,
)
from records.queries._as_built_plant import (
    BOXES,
    Known,
    Plant,
    known_around,
    paths_by_home,
    plant_of,
    prefixes,
)
from records.queries._figures_used import ClassUsed, FiguresUsed, LossUsed, figures_used
from records.queries.buildings import Dwelling, dwellings
from records.queries.cables import FibreOf
from records.queries.cases import Case, cases_at
from records.queries.equipment import JointIn, PortOf
from records.queries.hazards import statements_for
from records.queries.inside import places_in
from records.queries.legs import Leg
from records.queries.moment import number_asked
from records.queries.paths import Path
from records.queries.readings import Judged, latest_readings
from records.queries.touching import changes_touching
from records.queries.words import natural

__all__ = ["AsBuilt", "Box", "ClassUsed", "Home", "LossUsed", "as_built", "home_count"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A panel, closure or coupler with its ports and the joints that it houses."""

    equipment: Equipment
    ports: tuple[PortOf, ...]
    joints: tuple[JointIn, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """A dwelling with what stands in it and the ways of light to where it is received."""

    dwelling: Dwelling
    equipment: tuple[Equipment, ...]
    paths: tuple[Path, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """A place as it stood just after a change.

    `around` are the places that it stands in, widest first; `places` those inside, with itself.
    Places, homes, splitters and boxes come in the order of a walk, cables by name. `cases` are by
    point, channel and direction. `changes` are those that touched the place after the change
    `since`, oldest first; None where none was asked for.
    """

    place: Place
    around: tuple[Place, ...]
    change: Change | None
    places: tuple[Place, ...]
    homes: tuple[Home, ...]
    splitters: tuple[tuple[Equipment, tuple[Leg, ...]], ...]
    boxes: tuple[Box, ...]
    cables: tuple[tuple[Cable, tuple[FibreOf, ...]], ...]
    known: Known
    readings: tuple[Judged, ...]
    people: Mapping[int, str]
    hazards: Mapping[int, HazardStatement]
    figures: FiguresUsed
    cases: Mapping[tuple[int, int, str], tuple[Case, ...]]
    since: int | None
    changes: tuple[Change, ...] | None

    def legs_of(self, splitter_id: int | None) -> tuple[Leg, ...]:
        """Return the legs of a splitter that stands here; none of one elsewhere."""
        return next((legs for each, legs in self.splitters if each.pk == splitter_id), ())


def home_count(place: Place) -> int:
    """Return how many dwellings stand in a place."""
    return places_in(place).filter(kind__in=DWELLINGS).count()


def as_built(place: Place, *, since: int | None = None) -> AsBuilt:
    """Return all that is handed over of a place, as it stands at the moment asked for."""
    inside = list(places_in(place))
    plant, paths = plant_of(place), paths_by_home(place)
    listed = [path for found in paths.values() for path in found]
    hops = [hop for path in listed for hop in path.hops]
    told = dwellings([each for each in inside if each.is_dwelling])
    known = known_around(inside, plant, hops, _booked(told.values()))
    readings = latest_readings(hop.spot.point_id for hop in hops)
    walk, change = Walk(known.places), _latest_change()
    return AsBuilt(
        place=place,
        around=tuple(known.around_of(place)[:-1]),
        change=change,
        places=tuple(sorted(inside, key=walk.of)),
        homes=tuple(_homes(told, plant, paths, walk)),
        splitters=tuple(_splitters(plant, walk)),
        boxes=tuple(_boxes(plant, walk)),
        cables=tuple(_cables(plant)),
        known=known,
        readings=tuple(readings),
        people=_people(readings),
        hazards=statements_for(inside),
        figures=figures_used(hops, [path.lit for path in listed]),
        cases=cases_at(listed),
        since=since,
        changes=_changes(place, since, change),
    )


class Walk:
    """The order of a walk: outermost place first, floors from the ground up, names as read."""

    def __init__(self, places: Mapping[str, Place]) -> None:
        """Take the places around, by path."""
        self._step = {
            path: (_BELOW_ALL_FLOORS if each.storey is None else each.storey, natural(each.name))
            for path, each in places.items()
        }

    def of(self, place: Place) -> tuple[object, ...]:
        """Return the key of a place."""
        return tuple(self._step[path] for path in prefixes(place.path))

    def of_equipment(self, equipment: Equipment) -> tuple[object, ...]:
        """Return the key of an equipment."""
        return self.of(equipment.place), natural(equipment.name), equipment.pk


_BELOW_ALL_FLOORS = -1000


def _booked(homes: Iterable[Dwelling]) -> set[int]:
    """Return the legs that lines of some homes have booked."""
    return {line.leg_id for each in homes for line in each.lines if line.leg_id is not None}


def _homes(
    told: Mapping[int, Dwelling], plant: Plant, paths: Mapping[int, list[Path]], walk: Walk
) -> Iterator[Home]:
    standing: dict[int, list[Equipment]] = {}
    for each in sorted(plant.equipment, key=lambda each: (natural(each.name), each.pk)):
        standing.setdefault(each.place_id, []).append(each)
    for home in sorted(told.values(), key=lambda each: walk.of(each.place)):
        yield Home(
            dwelling=home,
            equipment=tuple(standing.get(home.place.pk, ())),
            paths=tuple(paths.get(home.place.pk, ())),
        )


def _splitters(plant: Plant, walk: Walk) -> Iterator[tuple[Equipment, tuple[Leg, ...]]]:
    for each in sorted(plant.equipment, key=walk.of_equipment):
        if each.kind == EquipmentKind.SPLITTER:
            yield each, tuple(plant.legs.get(each.pk, ()))


def _cables(plant: Plant) -> Iterator[tuple[Cable, tuple[FibreOf, ...]]]:
    for each in sorted(plant.cables, key=lambda each: (natural(each.name), each.pk)):
        yield each, tuple(plant.fibres.get(each.pk, ()))


def _boxes(plant: Plant, walk: Walk) -> Iterator[Box]:
    for each in sorted(plant.equipment, key=walk.of_equipment):
        houses_joints = each.pk in plant.joints and each.kind != EquipmentKind.OUTLET
        if each.kind in BOXES or houses_joints:
            yield Box(
                equipment=each,
                ports=tuple(plant.ports.get(each.pk, ())),
                joints=tuple(plant.joints.get(each.pk, ())),
            )


def _latest_change() -> Change | None:
    made = Change.objects.filter(sealed=True, number__lte=number_asked())
    return made.order_by("-number").first()


def _people(readings: Iterable[Judged]) -> dict[int, str]:
    user = get_user_model()
    ids = {each.reading.taken_by_id for each in readings}
    return dict(user.objects.filter(pk__in=ids).values_list("pk", "username"))


def _changes(place: Place, since: int | None, change: Change | None) -> tuple[Change, ...] | None:
    if since is None or change is None:
        return None
    touching = changes_touching("place", place.pk)
    between = touching.filter(number__gt=since, number__lte=change.number)
    return tuple(between.select_related("actor").order_by("number"))
