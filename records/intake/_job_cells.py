"""From a cell of a job's sheet to an argument of a step, things by their plain names."""

import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from records.changes import references
from records.changes.references import Reference, Thing, noun_needed
from records.changes.steps import parameters
from records.intake._cells import CellError, integer, moment, number
from records.intake._job_columns import unit_of
from records.models import CatalogueEntry, ColourScheme, OpticalClass, Place
from records.queries.named_inside import named_inside
from records.queries.plain_names import NOUNS, Meant, meant
from records.queries.words import normalised

NAMED_MAX = 4
"""How many things of one name a fault lists."""

_YES, _NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0")

NewThings = Mapping[Thing, Reference]
"""What earlier steps make, by noun and id, and how a step refers to it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowReader:
    """Reads the arguments of one row: a verb, the cells by column, and what rows above make.

    A name that several things have means the one in the job's place, if one is there.
    """

    verb: str
    cells: Mapping[str, str]
    new: NewThings
    place: Place | None

    def value(self, name: str) -> Any:
        """Return the value of an argument. Raises: CellError."""
        cell = self.cells[name]
        wanted = _plain_type(parameters(self.verb)[name].annotation)
        if typing.get_origin(wanted) is not None:
            (each_wanted,) = typing.get_args(wanted)
            return [self._one(name, each, each_wanted) for each in _split(cell)]
        return self._one(name, cell, wanted)

    def _one(self, name: str, cell: str, wanted: Any) -> Any:
        noun = noun_needed(name, self.cells)
        reference = references.from_words(cell) if noun else None
        if reference is not None:
            return reference
        if noun in NOUNS:
            return self._thing(str(noun), cell)
        if name in _ROWS:
            return _ROWS[name](cell)
        if name.endswith("polish"):
            return "" if normalised(cell) in {"bare", "bare end", "none"} else cell.upper()
        if name == "level_dbm" and normalised(cell) == "no light":
            return None
        return _READERS[wanted](cell, unit_of(name))

    def _thing(self, noun: str, cell: str) -> int | Reference:
        found = meant(noun, cell)
        if not found:
            raise NothingCalledError(noun, cell)
        if len(found) > 1 and self.place is not None:
            found = named_inside(noun, found, self.place) or found
        if len(found) > 1:
            raise CellError(
                f"{len(found)} things are called '{cell}'.", allowed=f"Say which: {_some(found)}."
            )
        return self.new.get((noun, found[0].id)) or found[0].id


def _plain_type(wanted: Any) -> Any:
    if typing.get_origin(wanted) in {typing.Union, types.UnionType}:
        return next(each for each in typing.get_args(wanted) if each is not type(None))
    return wanted


def _split(cell: str) -> list[str]:
    return [each.strip() for each in cell.split(";") if each.strip()]


class NothingCalledError(CellError):
    """A name by which the record knows nothing."""

    def __init__(self, noun: str, cell: str) -> None:
        shown = {"place": "Block A, Flat 12", "equipment": "S1 (Riser)", "cable": "D12"}
        example = shown.get(noun, "Flat 12" if noun == "line" else "leg 3 of S1")
        super().__init__(
            f"No {noun} is called '{cell}'.",
            allowed=f"A name such as '{example}', or the code of a tag on it.",
        )


def _some(found: list[Meant]) -> str:
    names = [each.name for each in found[:NAMED_MAX]]
    return "; ".join(names) + (" ..." if len(found) > NAMED_MAX else "")


def _row_of(names: Callable[[], dict[str, int]], what: str) -> Callable[[str], int]:
    def read(cell: str) -> int:
        known = names()
        by_words = {normalised(name): pk for name, pk in known.items()}
        if normalised(cell) in by_words:
            return by_words[normalised(cell)]
        near = sorted(name for name in known if normalised(cell) in normalised(name))
        raise CellError(
            f"'{cell}' is no {what} of the catalogue.",
            allowed=f"One of: {', '.join((near or sorted(known))[:20])}.",
        )

    return read


def _entries() -> dict[str, int]:
    """Return the newest version of each entry, by its name alone where only one kind has it."""
    newest = {
        (each.kind, each.name): each.pk
        for each in CatalogueEntry.objects.order_by("kind", "name", "version")
    }
    counts: dict[str, int] = {}
    for _kind, name in newest:
        counts[name] = counts.get(name, 0) + 1
    alone = {name: pk for (_kind, name), pk in newest.items() if counts[name] == 1}
    return alone | {f"{kind} {name}": pk for (kind, name), pk in newest.items()}


_ROWS: dict[str, Callable[[str], int]] = {
    "entry": _row_of(_entries, "type"),
    "optical_class": _row_of(
        lambda: {str(each): each.pk for each in OpticalClass.objects.all()}, "class"
    ),
    "colour_scheme": _row_of(
        lambda: {each.name: each.pk for each in ColourScheme.objects.all()}, "colour code"
    ),
}


def _truth(cell: str) -> bool:
    if normalised(cell) not in {*_YES, *_NO}:
        raise CellError(f"'{cell}' is neither yes nor no.", allowed="yes, or no.")
    return normalised(cell) in _YES


_READERS: dict[Any, Callable[[str, str], Any]] = {
    int: integer,
    float: number,
    Decimal: number,
    bool: lambda cell, _unit: _truth(cell),
    datetime: lambda cell, _unit: moment(cell).isoformat(),
    str: lambda cell, _unit: cell,
}
"""From a cell and the unit of its argument to a value, by the argument's type."""
