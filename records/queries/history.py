"""What became of a thing: its versions, what changed from one to the next, who and why."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Model

from records.models import KEPT, STILL, Change


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChange:
    """One field, from what to what. Where a value is the id of a thing, `names` is its model."""

    field: str
    before: Any
    after: Any
    names: type[Model] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What one change did to one thing: it began, was altered, or ended."""

    change: Change
    what: str
    fields: tuple[FieldChange, ...]


def events(model: type[Model], thing_id: int) -> list[Event]:
    """Return all that happened to a thing, newest first, also when it no longer exists."""
    kept = next(KEPT[base] for base in model.__mro__ if base in KEPT)
    versions = list(kept.objects.of(thing_id))
    numbers = {each.since for each in versions} | {
        each.until for each in versions if each.until != STILL
    }
    changes = Change.objects.select_related("actor", "job").in_bulk(numbers)
    return list(_events(versions, changes))[::-1]


def _events(versions: list[Any], changes: dict[int, Change]) -> Iterator[Event]:
    previous = None
    for version in versions:
        if previous is None or previous.until != version.since:
            yield Event(change=changes[version.since], what="began", fields=())
        else:
            differences = tuple(_differences(previous, version))
            yield Event(change=changes[version.since], what="altered", fields=differences)
        previous = version
    if previous is not None and previous.until != STILL:
        yield Event(change=changes[previous.until], what="ended", fields=())


_BOOKKEEPING = {"row", "since", "until"}


def _differences(before: Any, after: Any) -> Iterator[FieldChange]:
    for field in before._meta.concrete_fields:
        if field.name in _BOOKKEEPING:
            continue
        old, new = getattr(before, field.attname), getattr(after, field.attname)
        if old != new:
            yield FieldChange(
                field=str(field.verbose_name),
                before=old,
                after=new,
                names=field.related_model if field.is_relation else None,
            )
