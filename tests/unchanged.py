"""Nothing is left behind: compare all rows of the record before and after."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any

import pytest
from django.apps import apps
from django.db import connection

from records.changes import Refusal
from tests.factories import opened

Rows = dict[str, list[Any]]


@cache
def _tables() -> list[str]:
    return sorted(model._meta.db_table for model in apps.get_app_config("records").get_models())


def everything() -> Rows:
    """Return all rows of the record, history and changes included."""
    with connection.cursor() as cursor:
        return {table: _rows(cursor, table) for table in _tables()}


def _rows(cursor: Any, table: str) -> list[Any]:
    cursor.execute(f"SELECT * FROM {table}")
    return sorted(cursor.fetchall(), key=repr)


@contextmanager
def nothing_written() -> Iterator[None]:
    """Fail if the block leaves any row other than it was."""
    before = everything()
    yield
    after = everything()
    changed = [table for table in before if before[table] != after[table]]
    assert not changed, f"rows changed in {', '.join(changed)}"


@contextmanager
def refused(code: str, *texts: str, field: str | None = None, **change: Any) -> Iterator[Any]:
    """Open a change in which a verb must refuse, with this code and these texts, for nothing."""
    with nothing_written(), pytest.raises(Refusal) as caught, opened(**change) as tried:
        yield tried
    refusal = caught.value
    assert refusal.code == code
    for text in texts:
        assert text in str(refusal)
    assert refusal.hint
    if field is not None:
        assert refusal.field == field
