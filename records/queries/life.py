"""The life of a thing: every change that touched it, its joints, bookings, readings or tags."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import Model

from records.models import KEPT, Change, Equipment, Place, Point
from records.queries.changes import Wanted, chosen
from records.queries.history import Event, FieldChange, events
from records.queries.names import addresses, named_points
from records.queries.things import model_of
from records.queries.touching import changes_touching

SHOWN = 50
"""How many of a thing's changes are told at a time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """A change that touched a thing.

    `what` and `fields` tell what it did to the thing's own row: began, altered or ended. Both are
    empty where it only touched what hangs on the thing.
    """

    change: Change
    what: str
    fields: tuple[FieldChange, ...]


def life(noun: str, thing_id: int, wanted: Wanted, *, count: int = SHOWN) -> list[Happening]:
    """Return the latest changes that touched a thing, newest first, also of one since removed.

    Values that name a thing are told by its name.
    """
    own: dict[int, Event] = {each.change.number: each for each in events(model_of(noun), thing_id)}
    found = chosen(changes_touching(noun, thing_id), wanted)[:count]
    happenings = [
        Happening(
            change=change,
            what=own[change.number].what if change.number in own else "",
            fields=own[change.number].fields if change.number in own else (),
        )
        for change in found
    ]
    names = dict(_names(field for each in happenings for field in each.fields))
    return [
        replace(each, fields=tuple(_by_name(field, names) for field in each.fields))
        for each in happenings
    ]


def latest_version(noun: str, thing_id: int) -> Any:
    """Return how a thing stands, or stood before it was removed; None if there never was one."""
    return KEPT[model_of(noun)].objects.of(thing_id).last()


Named = tuple[type[Model], int]


def _by_name(field: FieldChange, names: dict[Named, str]) -> FieldChange:
    if field.names is None:
        return field
    before, after = (
        value if value is None else names.get((field.names, value), "one since removed")
        for value in (field.before, field.after)
    )
    return replace(field, before=before, after=after)


def _names(fields: Iterable[FieldChange]) -> Iterable[tuple[Named, str]]:
    """Yield what things are called that fields name, with few queries a kind of thing."""
    wanted: dict[type[Model], set[int]] = {}
    for field in fields:
        if field.names is not None:
            ids = (each for each in (field.before, field.after) if each is not None)
            wanted.setdefault(field.names, set()).update(ids)
    for model, pks in wanted.items():
        for pk, name in _called(model, pks).items():
            yield (model, pk), name


def _called(model: Any, ids: set[int]) -> dict[int, str]:
    if model is Point:
        return named_points(ids)
    found = model.objects.in_bulk(ids)
    if model is Place:
        return addresses(found.values())
    if model is Equipment:
        known = addresses(Place.objects.filter(equipment__in=found))
        return {pk: f"{each.name} ({known[each.place_id]})" for pk, each in found.items()}
    return {pk: str(each) for pk, each in found.items()}
