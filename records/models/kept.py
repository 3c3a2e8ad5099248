"""History by the database: each kept table has a twin that triggers fill.

A kept model `Joint` gets a twin `JointHistory` with the same columns plus `since` and `until`, the
numbers of the changes between which that version of the row stood: `since <= n < until`. The live
version has `until = STILL`. Triggers write the twin, so no bulk, raw or careless write can escape
it, and they take the number from the one change that is open; when none is open the write fails.
As-of reads are the live queries with the twin's name and one range condition.

Measured against signals and an event log before it was chosen: see "Decisions" in DEVELOPERS.md.
"""

from collections.abc import Callable
from typing import Any, ClassVar

from django.db import models

STILL = 2**63 - 1
"""The `until` of a version that still stands."""


class HistoryQuerySet(models.QuerySet[Any]):
    """Versions of rows."""

    def at(self, number: int) -> "HistoryQuerySet":
        """Return the versions that stood just after change `number`."""
        return self.filter(since__lte=number, until__gt=number)

    def of(self, thing_id: int) -> "HistoryQuerySet":
        """Return all versions of one thing, oldest first, but for those no commit ever saw."""
        return self.filter(id=thing_id, since__lt=models.F("until")).order_by("since", "row")


class HistoryRow(models.Model):
    """What each history twin has beside the columns of its live table."""

    row = models.BigAutoField(primary_key=True)
    since = models.BigIntegerField()
    until = models.BigIntegerField(default=STILL)

    ignored: ClassVar[tuple[str, ...]] = ()
    personal: ClassVar[tuple[str, ...]] = ()
    derived: ClassVar[bool] = False

    objects = HistoryQuerySet.as_manager()

    class Meta:
        abstract = True


KEPT: dict[type[models.Model], type[HistoryRow]] = {}
"""Each kept model and its history twin."""


def kept(
    *lookups: str,
    ignore: tuple[str, ...] = (),
    personal: tuple[str, ...] = (),
    derived: bool = False,
) -> Callable[[type[models.Model]], type[models.Model]]:
    """Return a class decorator that gives a model its history twin.

    `lookups` are the columns by which as-of reads find rows; each gets an index with `since`.
    `ignore` names bookkeeping columns whose change alone is not history. `personal` names columns
    that may be blanked in history after their time. `derived` tells that the rows can be
    recomputed from others, so that no digest needs to vouch for them.
    """
    fixed = {"ignored": ignore, "personal": personal, "derived": derived}

    def decorate(model: type[models.Model]) -> type[models.Model]:
        KEPT[model] = _twin(model, lookups, fixed)
        return model

    return decorate


def _twin(
    model: type[models.Model], lookups: tuple[str, ...], fixed: dict[str, Any]
) -> type[HistoryRow]:
    meta = model._meta
    table = f"{meta.db_table}_history"
    fields = {field.name: _plain(field) for field in meta.concrete_fields if field.name != "since"}
    key = () if isinstance(meta.pk, models.CompositePrimaryKey) else (meta.pk.name,)
    indexes = [
        models.Index(fields=[name, "since"], name=f"{meta.model_name}_past_{name}"[:30])
        for name in (*key, *lookups)
    ]
    if not fixed["derived"]:
        indexes += _written_by_change(str(meta.model_name))
    inner = type("Meta", (), {"app_label": meta.app_label, "db_table": table, "indexes": indexes})
    name = f"{meta.object_name}History"
    body = {
        "__module__": model.__module__,
        "__doc__": f"Versions of {meta.object_name} rows, written by triggers.",
        "Meta": inner,
        **fixed,
        **fields,
    }
    return type(name, (HistoryRow,), body)


def _written_by_change(model_name: str) -> list[models.Index]:
    """Return the indexes by which the versions that one change began and ended are found."""
    ended = models.Q(until__lt=STILL)
    return [
        models.Index(fields=["since"], name=f"{model_name}_past_since"[:30]),
        models.Index(fields=["until"], condition=ended, name=f"{model_name}_past_until"[:30]),
    ]


def _plain(field: "models.Field[Any, Any]") -> "models.Field[Any, Any]":
    """Return the column without uniqueness, index or foreign key constraint."""
    if isinstance(field, models.ForeignKey):
        target: Any = field.remote_field.model
        return models.ForeignKey(
            field.model if target == "self" else target,
            on_delete=models.DO_NOTHING,
            null=field.null,
            db_constraint=False,
            db_index=False,
            db_column=field.column,
            related_name="+",
        )
    if field.primary_key:
        return models.BigIntegerField()
    copy = field.clone()
    copy._unique = False  # type: ignore[attr-defined]  # noqa: SLF001 (Django has no setter)
    copy.db_index = False  # type: ignore[attr-defined]
    return copy
