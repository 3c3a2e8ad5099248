"""Which changes touched a thing: its own row, and what hangs on it or lies inside it.

A place counts with all inside it, a cable with its fibres, an equipment with its ports; each with
the joints, bookings, channels, readings and tags there. What is gone counts as well.
"""

from collections.abc import Iterator
from typing import Any

from django.db.models import F, Model, Q, QuerySet

from records.models import (
    KEPT,
    STILL,
    TAGGED,
    Booking,
    Cable,
    Change,
    Channel,
    Equipment,
    HazardStatement,
    Joint,
    JointEnd,
    Line,
    Passage,
    Place,
    Point,
    PrintedLabel,
    Reading,
    Tag,
)
from records.queries.legs import after_all_inside
from records.queries.things import model_of

Versions = QuerySet[Any]


def changes_touching(noun: str, thing_id: int) -> "QuerySet[Change]":
    """Return the changes that touched a thing of this noun, in no order."""
    written: list[Versions] = []
    for versions in (_own(noun, thing_id), *_TOUCHING[noun](thing_id)):
        seen = versions.filter(since__lt=F("until")).order_by()
        written += [seen.values("since"), seen.filter(until__lt=STILL).values("until")]
    numbers = written[0].union(*written[1:])
    return Change.objects.filter(sealed=True, number__in=numbers)


def _versions(model: type[Model], condition: Q) -> Versions:
    return KEPT[model].objects.filter(condition)


def _own(noun: str, thing_id: int) -> Versions:
    return _versions(model_of(noun), Q(id=thing_id))


def _ids(model: type[Model], condition: Q) -> Versions:
    """Return the ids of things that ever were so."""
    return _versions(model, condition).values("id")


def _of_point(pk: int) -> Iterator[Versions]:
    yield from _at_points(Q(id=pk))
    yield _tags(point=pk)


def _of_equipment(pk: int) -> Iterator[Versions]:
    yield _versions(Joint, Q(stands_in=pk))
    yield _versions(Passage, Q(equipment=pk))
    yield from _at_points(Q(equipment=pk))
    yield _tags(equipment=pk)


def _of_cable(pk: int) -> Iterator[Versions]:
    yield _versions(Passage, Q(cable=pk))
    yield from _at_points(Q(passage__in=_ids(Passage, Q(cable=pk))))
    yield _tags(cable=pk)


def _of_line(pk: int) -> Iterator[Versions]:
    yield _versions(Booking, Q(line=pk))
    yield _tags(line=pk)


def _of_place(pk: int) -> Iterator[Versions]:
    place = Place.objects.filter(pk=pk).first()
    if place is None:
        return
    paths = Q(path__gte=place.path, path__lt=after_all_inside(place))
    inside = Place.objects.filter(paths).order_by().values("id")
    leads_here = Q(a_place__in=inside) | Q(b_place__in=inside)
    equipment = _ids(Equipment, Q(place__in=inside))
    cables = _ids(Cable, leads_here)
    lines = _ids(Line, Q(place__in=inside))
    yield _versions(Place, paths)
    yield _versions(Equipment, Q(place__in=inside))
    yield _versions(Cable, leads_here)
    yield _versions(Line, Q(place__in=inside))
    yield _versions(HazardStatement, Q(place__in=inside))
    yield _versions(PrintedLabel, Q(place__in=inside))
    yield _versions(Joint, Q(stands_in__in=equipment))
    yield _versions(Booking, Q(line__in=lines))
    yield _versions(Passage, Q(cable__in=cables) | Q(equipment__in=equipment))
    of_fibres = Q(passage__in=_ids(Passage, Q(cable__in=cables)))
    yield from _at_points(Q(equipment__in=equipment) | of_fibres)
    yield _versions(
        Tag,
        Q(place__in=inside) | Q(equipment__in=equipment) | Q(cable__in=cables) | Q(line__in=lines),
    )


def _at_points(condition: Q) -> Iterator[Versions]:
    """Yield what hangs on points, with their own versions."""
    points = _ids(Point, condition)
    yield _versions(Point, condition)
    yield _versions(JointEnd, Q(point__in=points))
    joints = _versions(JointEnd, Q(point__in=points)).values("joint")
    yield _versions(Joint, Q(id__in=joints))
    yield _versions(Booking, Q(leg__in=points))
    yield _versions(Channel, Q(point__in=points))
    yield _versions(Reading, Q(point__in=points))
    yield _versions(Tag, Q(point__in=points))


def _tags(**thing: int) -> Versions:
    return _versions(Tag, Q(**thing))


_TOUCHING = {
    "point": _of_point,
    "equipment": _of_equipment,
    "cable": _of_cable,
    "line": _of_line,
    "place": _of_place,
}
assert _TOUCHING.keys() == set(TAGGED)  # noqa: S101 (whatever has a page has a history)
