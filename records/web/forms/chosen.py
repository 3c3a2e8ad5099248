"""The thing that was chosen, by the id that a form sends as text."""

from typing import TypeVar

from django.db.models import Model, QuerySet

M = TypeVar("M", bound=Model)

MAX_DIGITS = 18
"""What a database's integer surely holds."""


def thing(things: "QuerySet[M]", text: str) -> M | None:
    """Return the thing whose id a text is, None where there is none."""
    pk = id_of(text)
    return None if pk is None else things.filter(pk=pk).first()


def id_of(text: str) -> int | None:
    """Return the id that a text is, None where it can't be one."""
    return int(text) if text.isdecimal() and len(text) <= MAX_DIGITS else None
