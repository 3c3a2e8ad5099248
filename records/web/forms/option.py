"""One thing to choose, and what it is drawn from."""

from dataclasses import dataclass
from typing import TypeVar

from django.db.models import Model, QuerySet

from records.queries.find import Found

M = TypeVar("M", bound=Model)

LIMIT = 40
"""How many are offered: more than a large splitter has legs, few enough to scroll by thumb."""

MAX_DIGITS = 18
"""What a database's integer surely holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One thing to choose: its id, name and place, and what tells it from its neighbours.

    In a step of a job, what an earlier step makes has a reference in words for its id.
    """

    id: int | str
    title: str
    where: str = ""
    detail: str = ""


def ids_of(found: list[Found], noun: str) -> list[int]:
    """Return the ids of the found things of one noun, best first."""
    return [each.id for each in found if each.noun == noun]


def thing(things: "QuerySet[M]", text: str) -> M | None:
    """Return the thing whose id a text is, None where there is none."""
    pk = id_of(text)
    return None if pk is None else things.filter(pk=pk).first()


def id_of(text: str) -> int | None:
    """Return the id that a text is, None where it can't be one."""
    return int(text) if text.isdecimal() and len(text) <= MAX_DIGITS else None
