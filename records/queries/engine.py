"""The few things in which the two engines' SQL differs."""

from collections.abc import Iterable
from typing import Any

from django.db import connection

Row = tuple[Any, ...]


def rows(sql: str, params: Iterable[Any] = ()) -> list[Row]:
    """Run a query and return its rows."""
    with connection.cursor() as cursor:
        cursor.execute(sql, list(params))
        fetched: list[Row] = cursor.fetchall()
    return fetched


def in_ids(column: str) -> str:
    """Return the condition that a column is in a list of ids given as one parameter."""
    if connection.vendor == "postgresql":
        return f"{column} = ANY(%s)"
    return f"{column} IN (SELECT value FROM json_each(%s))"


def ids(values: Iterable[int]) -> Any:
    """Return the parameter for `in_ids`."""
    listed = sorted(set(values))
    return listed if connection.vendor == "postgresql" else str(listed)
