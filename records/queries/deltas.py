"""What a change made of each row: as it was before and as it was after."""

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from django.db.models import Model

from records.models import KEPT
from records.queries.chain import canonical, content

Row = dict[str, Any]
"""A row's columns by attribute name, but for those that are derived or personal."""


class Turn(NamedTuple):
    """A row before and after a change; None before it began, None after it ended."""

    before: Row | None
    after: Row | None

    @property
    def row(self) -> Row:
        """Return the row as it is known best: after the change, else before it."""
        return self.after or self.before or {}

    @property
    def altered(self) -> dict[str, tuple[Any, Any]]:
        """Return the columns of a row that stayed, each from what to what; else none."""
        if self.before is None or self.after is None:
            return {}
        return {
            name: (old, self.after[name])
            for name, old in self.before.items()
            if old != self.after[name]
        }


Delta = dict[str, dict[Any, Turn]]
"""By model name, such as 'jointend', and primary key."""


def delta(number: int) -> Delta:
    """Return all that a change made of the rows that digests vouch for."""
    columns = _columns()
    found: Delta = {name: {} for name, _key, _attributes in columns.values()}
    for table, what, values in content(number):
        if table not in columns:  # the digest before it is content too, but no row of the plant
            continue
        name, key, attributes = columns[table]
        row = dict(zip(attributes, values, strict=True))
        known = found[name].get(row[key], Turn(None, None))
        found[name][row[key]] = (
            known._replace(after=row) if what == "began" else known._replace(before=row)
        )
    return found


def _columns() -> dict[str, tuple[str, str, list[str]]]:
    """Return by table: the model's name, the key's attribute, the attributes in order."""
    return {
        model._meta.db_table: (str(model._meta.model_name), _key(model), list(_attributes(model)))
        for model, twin in KEPT.items()
        if not twin.derived
    }


def _key(model: type[Model]) -> str:
    return str(model._meta.pk.attname)


def _attributes(model: type[Model]) -> Iterator[str]:
    unsworn = {*KEPT[model].ignored, *KEPT[model].personal}
    for each in model._meta.concrete_fields:
        if each.name not in unsworn:
            yield each.attname


def live_rows(model: type[Model], keys: Iterable[Any]) -> dict[Any, Row]:
    """Return standing rows by key, in the form in which deltas give them."""
    wanted = set(_attributes(model))
    fields = [each for each in model._meta.concrete_fields if each.attname in wanted]
    found = model._default_manager.filter(pk__in=list(keys))  # noqa: SLF001 (Django's name)
    return {
        each.pk: {
            field.attname: canonical(field, getattr(each, field.attname)) for field in fields
        }
        for each in found
    }
