"""What every section is given: what was read, how things are called, what was asked for."""

from dataclasses import dataclass

from records.handover.pack.names import PackNames
from records.handover.pack.pages import Marks
from records.queries.as_built import AsBuilt


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """In which form a pack is asked for, by whom, and since which change it tells deviations.

    Who asked stands on the cover of a pack with addresses; without them it names no one.
    """

    has_addresses: bool = False
    asked_by: str = ""
    since: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A place as read, its names and the marks of its pages."""

    built: AsBuilt
    names: PackNames
    marks: Marks
    asked: Asked
