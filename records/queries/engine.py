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


def pairs_table() -> str:
    """Return as a table, of the columns `one` and `other`, pairs of ids given by `pairs`."""
    if connection.vendor == "postgresql":
        return "unnest(%s::bigint[], %s::bigint[]) AS pair(one, other)"
    return """(SELECT json_extract(value, '$[0]') AS one, json_extract(value, '$[1]') AS other
               FROM json_each(%s)) AS pair"""


def pairs(values: Iterable[tuple[int, int]]) -> list[Any]:
    """Return the parameters for `pairs_table`."""
    listed = sorted(set(values))
    if connection.vendor == "postgresql":
        return [[one for one, _other in listed], [other for _one, other in listed]]
    return [str([list(each) for each in listed])]


def ids(values: Iterable[int]) -> Any:
    """Return the parameter for `in_ids`."""
    listed = sorted(set(values))
    return listed if connection.vendor == "postgresql" else str(listed)
