"""Read rows by many values, in as few queries as both engines allow."""

from collections.abc import Iterable, Iterator
from typing import TypeVar

from django.db.models import Manager, Model, QuerySet

M = TypeVar("M", bound=Model)

CHUNK = 900
"""Values in one query: below the least limit of SQLite's builds, 999."""


def chunked(
    rows: "QuerySet[M] | Manager[M]", lookup: str, values: Iterable[int | str]
) -> Iterator[M]:
    """Yield the rows whose lookup is among the values."""
    listed = sorted(set(values), key=str)
    for start in range(0, len(listed), CHUNK):
        yield from rows.filter(**{lookup: listed[start : start + CHUNK]})
