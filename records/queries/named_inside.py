"""Which of several things of one name stand in a place, where the talk is of that place."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Model

from records.models import Cable, Channel, Equipment, Joint, Line, Place, Point
from records.queries.inside import standing_in
from records.queries.plain_names import Meant

_OF_POINT = (
    "equipment__place__",
    "passage__cable__a_place__",
    "passage__cable__b_place__",
)
_TO_PLACE: dict[str, tuple[type[Model], tuple[str, ...]]] = {
    "place": (Place, ("",)),
    "equipment": (Equipment, ("place__",)),
    "cable": (Cable, ("a_place__", "b_place__")),
    "line": (Line, ("place__",)),
    "point": (Point, _OF_POINT),
    "port": (Point, _OF_POINT),
    "joint": (Joint, tuple(f"ends__point__{way}" for way in _OF_POINT)),
    "channel": (Channel, ("point__equipment__place__",)),
}
"""By noun: the model, and what leads from its rows to the places that they stand in."""


def named_inside(noun: str, found: Iterable[Meant], place: Place) -> list[Meant]:
    """Return those things that stand in a place or, of cables, begin or end there."""
    listed = list(found)
    model, ways = _TO_PLACE[noun]
    named: Any = model._default_manager.filter(pk__in=[each.id for each in listed])  # noqa: SLF001 (Django's name)
    inside = {
        pk for way in ways for pk in standing_in(named, place, way).values_list("pk", flat=True)
    }
    return [each for each in listed if each.id in inside]
