"""What a change wrote, in one canonical form, and the digests that chain the changes.

A change's digest is SHA-256 over its own content, all versions of rows it began or ended, and the
digest of the change before. So an altered, added or missing cell of history shows at the change
it belongs to, and no change can be swapped out without all later digests failing. What can be
recomputed (feeds, search words) is left out, and so are the personal columns, which may be cut
out after their time. Cells are sworn to by their column's name and empty ones are left out, so a
column that comes later, empty in all that stands, leaves the digests of the past as they are.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256
from typing import Any, TypeAlias

from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models

from records.models import KEPT, STILL, Change
from records.queries.engine import rows

AnyField: TypeAlias = "models.Field[Any, Any]"

_CHANGE = Change._meta.db_table
_DIGEST = Change._meta.get_field("digest")

Content = list[tuple[str, str, list[Any]]]
"""Table, 'began' or 'ended', and the row's columns, in the order of its model.

One row, 'before', holds the digest of the change before.
"""


def content(number: int) -> Content:
    """Return the versions of rows that a change began and ended, and the digest before it."""
    sql = _content_sql(connection.vendor)
    found = rows(sql, [number] * sql.count("%s"))
    return [(table, what, _canonical(table, row)) for table, what, row in found]


def _fields(table: str) -> list[AnyField]:
    return [_DIGEST] if table == _CHANGE else _sworn_tables()[table]


@cache
def _sworn_tables() -> dict[str, list[AnyField]]:
    """Return the columns that digests vouch for, by table."""
    return {
        model._meta.db_table: [
            field
            for field in model._meta.concrete_fields
            if field.name not in (*twin.ignored, *twin.personal)
        ]
        for model, twin in KEPT.items()
        if not twin.derived
    }


@cache
def _content_sql(vendor: str) -> str:
    array = "json_build_array" if vendor == "postgresql" else "json_array"
    branches = [
        f"""SELECT '{_CHANGE}', 'before', {array}(digest) FROM {_CHANGE}
            WHERE number = (SELECT max(number) FROM {_CHANGE} WHERE number < %s)"""
    ]
    for table, fields in _sworn_tables().items():
        columns = ", ".join(f'"{field.column}"' for field in fields)
        branches.extend(
            f"""SELECT '{table}', '{what}', {array}({columns}) FROM {table}_history
                WHERE {condition} AND since < until"""
            for what, condition in (
                ("began", "since = %s"),
                ("ended", f"until = %s AND until < {STILL}"),
            )
        )
    return " UNION ALL ".join(branches)


def _canonical(table: str, row: str | list[Any]) -> list[Any]:
    """Return a row's columns in the form that both engines' values come to."""
    values = json.loads(row) if isinstance(row, str) else row
    return [canonical(field, each) for field, each in zip(_fields(table), values, strict=True)]


def canonical(field: AnyField, value: Any) -> Any:
    """Return a column's value in the form that both engines' values come to."""
    python = field.to_python(value)
    if isinstance(python, float):
        return f"{python:.9g}"
    if isinstance(python, datetime):
        aware = python if python.tzinfo else python.replace(tzinfo=UTC)
        return aware.astimezone(UTC).isoformat(timespec="microseconds")
    return python


def digest(change: Change) -> str:
    """Return the digest of a change from what stands in the record, the one before it included."""
    sworn = {
        "number": change.number,
        "verb": change.verb,
        "actor": change.actor_id,
        "job": change.job_id,
        "reason": change.reason,
        "at": change.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "effect": change.effect,
        "content": _named(content(change.number)),
    }
    return sha256(_plain_json(sworn).encode()).hexdigest()


def _named(written: Content) -> list[str]:
    """Return what was written, cells by column, in an order that depends on nothing else."""
    return sorted(_plain_json([table, what, _filled(table, row)]) for table, what, row in written)


def _filled(table: str, row: list[Any]) -> dict[str, Any]:
    pairs = zip(_fields(table), row, strict=True)
    return {field.attname: cell for field, cell in pairs if cell is not None}


def _plain_json(value: Any) -> str:
    return json.dumps(value, cls=DjangoJSONEncoder, sort_keys=True, separators=(",", ":"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """The first place where the chain does not hold."""

    number: int
    words: str


def first_break(*, progress: Callable[[int], None] | None = None) -> Break | None:
    """Walk the whole chain, oldest change first, and return where it first fails, if it does.

    `progress` is told each number that was found whole.
    """
    for change in Change.objects.order_by("number").iterator(chunk_size=1000):
        if not change.sealed:
            return Break(number=change.number, words="The change is not sealed.")
        if change.digest != digest(change):
            return Break(
                number=change.number,
                words=(
                    "What is recorded of this change is not what was sealed: its own row, a "
                    "version of history that it began or ended, or the change before it."
                ),
            )
        if progress is not None:
            progress(change.number)
    return _orphan()


def _orphan() -> Break | None:
    """Return a version of history that no change vouches for, in its beginning or its end."""
    for table in _sworn_tables():
        found = rows(
            f"""SELECT number FROM (
                    SELECT since AS number FROM {table}_history
                    UNION SELECT until FROM {table}_history WHERE until < {STILL}) written
                WHERE NOT EXISTS (
                    SELECT 1 FROM records_change change WHERE change.number = written.number)
                ORDER BY number LIMIT 1"""
        )
        if found:
            return Break(number=found[0][0], words=f"A version in {table}_history has no change.")
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """A change's number and digest, as written down outside the record."""

    number: int
    digest: str


def latest_seal() -> Seal | None:
    """Return the seal of the latest change, which vouches for all before it; None before any."""
    latest = Change.objects.filter(sealed=True).order_by("-number").first()
    return Seal(number=latest.number, digest=latest.digest) if latest else None


def differs_from(seal: Seal) -> Break | None:
    """Return where the record differs from a seal written down before.

    It finds what the chain alone can't: latest changes cut off, or a chain sealed anew from end to
    end.
    """
    change = Change.objects.filter(number=seal.number).first()
    if change is None:
        return Break(number=seal.number, words="The change that was written down is missing.")
    if change.digest != seal.digest:
        return Break(
            number=seal.number, words="The change has another digest than was written down."
        )
    return None
