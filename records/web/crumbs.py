"""Where a thing is: the places around it, widest first, each with its page."""

from dataclasses import dataclass

from records.models import Cable, Equipment, Place, Point
from records.queries.points import PointAt
from records.web.links import url_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Crumb:
    """A thing around another one, and its page."""

    name: str
    url: str


def around(place: Place) -> list[Crumb]:
    """Return the places around a place."""
    return [_crumb("place", each.pk, each.name) for each in Place.objects.get_ancestors(place)]


def down_to(place: Place) -> list[Crumb]:
    """Return the places around a place, and the place."""
    return [*around(place), _crumb("place", place.pk, place.name)]


def down_to_equipment(equipment: Equipment) -> list[Crumb]:
    """Return where an equipment stands, and the equipment."""
    return [*down_to(equipment.place), _crumb("equipment", equipment.pk, equipment.name)]


def of_point(point: Point) -> list[Crumb]:
    """Return where a port stands, or the cable that a fibre end is of."""
    if point.equipment is not None:
        return down_to_equipment(point.equipment)
    return [*down_to(point.place), of_cable(point.cable)] if point.cable is not None else []


def to_point(at: PointAt) -> Crumb:
    """Return a point by its own name."""
    return _crumb("point", at.point.pk, at.name.partition(" (")[0])


def of_cable(cable: Cable) -> Crumb:
    """Return a cable."""
    return _crumb("cable", cable.pk, cable.name)


def _crumb(noun: str, thing_id: int, name: str) -> Crumb:
    return Crumb(name=name, url=url_of(noun, thing_id))
