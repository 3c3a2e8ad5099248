"""What is called how in an obstacle: by its present name, or by its last one where it is gone."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Model

from records.models import KEPT, Booking, Cable, Channel, Joint, JointEnd, Line, Point, Reading
from records.queries.deltas import Row, Turn
from records.queries.moment import as_it_stood
from records.queries.names import named_points
from records.queries.things import named

MODELS = {str(model._meta.model_name): model for model in KEPT}
"""The kept models by their names in a delta."""


def points_called(points: Iterable[int]) -> str:
    """Return the names of points, one after the other."""
    wanted = list(points)
    names = named_points(wanted)
    return ", ".join(names.get(each) or _last_name(Point, each) for each in wanted)


def called(noun: str, key: Any, turn: Turn) -> str:
    """Return what a row is called, as well as it can be told now."""
    model, row = MODELS[noun], turn.row
    if model is Point:
        return points_called([key])
    if model in {JointEnd, Joint}:
        return f"The joint of {points_called([key] if model is JointEnd else _ends(key))}"
    if model in {Channel, Reading}:
        return f"The {model._meta.verbose_name} at {points_called([row['point_id']])}"
    if model is Booking:
        return f"The booking of line {Line.objects.filter(pk=row['line_id']).first()}"
    return _own_name(model, key, row)


def _own_name(model: type[Model], key: Any, row: Row) -> str:
    if row.get("cable_id") is not None:
        return f"Fibre {row['number']} of {_own_name(Cable, row['cable_id'], {})}"
    thing = model._default_manager.filter(pk=key).first()  # noqa: SLF001 (Django's name)
    if thing is not None:
        return named(thing)
    name = row.get("name") or row.get("code")
    return str(name) if name else _last_name(model, key)


def _ends(joint: int) -> list[int]:
    ends: Any = KEPT[JointEnd].objects
    return sorted(set(ends.filter(joint=joint).values_list("point", flat=True)))


def _last_name(model: type[Model], key: Any) -> str:
    """Return what a thing that is gone was called last; its number where it has no name."""
    version = KEPT[model].objects.filter(**{str(model._meta.pk.attname): key}).last()
    number = f"{model._meta.verbose_name} {key}"
    if version is None:
        return number
    with as_it_stood(version.until - 1):
        if model is Point:
            return named_points([key]).get(key, number)
        thing = model._default_manager.filter(pk=key).first()  # noqa: SLF001 (Django's name)
        return named(thing) if thing else number
