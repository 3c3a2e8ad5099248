"""Ask of any past moment what can be asked of today, by the same queries.

Inside `as_it_stood(number)` every statement that reads a kept table reads its history twin
instead, limited to the versions that stood just after that change. The queries, through the ORM
or not, are the very ones that answer for today, so no answer exists in two wordings. A write
inside is refused.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime
from typing import Any

from django.db import connection

from records.models import KEPT, STILL, Change

NOW = STILL - 1
"""A number that every standing version holds at and no ended one does."""

_asked: ContextVar[int] = ContextVar("asked", default=NOW)


def number_asked() -> int:
    """Return the change number that queries now answer for."""
    return _asked.get()


def number_at(moment: datetime) -> int:
    """Return the number of the latest change made by then; 0 before the first."""
    made = Change.objects.filter(at__lte=moment, sealed=True).order_by("-number")
    return made.values_list("number", flat=True).first() or 0


@contextmanager
def as_it_stood(number: int) -> Iterator[None]:
    """Let all queries inside answer for the record as it stood just after a change."""
    token = _asked.set(number)
    try:
        with connection.execute_wrapper(_read_past(number)):
            yield
    finally:
        _asked.reset(token)


_KEPT_TABLES = "|".join(sorted((model._meta.db_table for model in KEPT), key=len, reverse=True))
_NO_ALIAS = "ON|WHERE|LEFT|INNER|JOIN|CROSS|ORDER|GROUP|LIMIT|UNION|EXCEPT|INTERSECT"
_READS = re.compile(
    rf"""\b(FROM|JOIN)\s+                                 # where a table is read,
    ("?)({_KEPT_TABLES})\2(?![\w"])                       # a kept one,
    (?:\s+(?:AS\s+)?((?!(?:{_NO_ALIAS})\b)"?[A-Za-z]\w*"?))?  # perhaps under another name
    """,
    re.VERBOSE | re.IGNORECASE,
)
_WRITES = re.compile(
    r"\s*(INSERT|UPDATE|DELETE|REPLACE|CREATE|DROP|ALTER|TRUNCATE)\b", re.IGNORECASE
)


def _read_past(number: int) -> Callable[..., Any]:
    def past(found: "re.Match[str]") -> str:
        word, _, table, alias = found.groups()
        versions = f"SELECT * FROM {table}_history WHERE since <= {number} AND until > {number}"
        return f"{word} ({versions}) {alias or table}"

    def run(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        if _WRITES.match(sql):
            raise RuntimeError("The past is read only: a write was tried while asking about it.")
        return execute(_READS.sub(past, sql), *rest)

    return run
