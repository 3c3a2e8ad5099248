"""One thing to choose from several, and what it is drawn from."""

from dataclasses import dataclass

from records.queries.find import Found

LIMIT = 40
"""How many are offered: more than a large splitter has legs, few enough to scroll by thumb."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One thing to choose: its id, name and place, and what tells it from its neighbours.

    `level_dbm` is expected at a lit point. In a step of a job, what an earlier step makes has a
    reference in words for its id.
    """

    id: int | str
    title: str
    where: str = ""
    detail: str = ""
    level_dbm: float | None = None


def ids_of(found: list[Found], noun: str) -> list[int]:
    """Return the ids of the found things of one noun, best first."""
    return [each.id for each in found if each.noun == noun]
