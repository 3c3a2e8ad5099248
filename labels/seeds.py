"""The stock and the caution words that a new Legbook knows, from fixtures/labels.

Every row names its source, and how far it was confirmed.
"""

import csv
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeVar, get_type_hints

from labels.stock import Roll, Sheet

SEEDS: Final = Path(__file__).resolve().parent.parent / "fixtures" / "labels"

_Stock = TypeVar("_Stock", Sheet, Roll)


@lru_cache
def sheets() -> Mapping[str, Sheet]:
    """Return the sheets of sheets.csv by id."""
    return {row["id"]: _stock(Sheet, row) for row in _rows("sheets.csv")}


@lru_cache
def rolls() -> Mapping[str, Roll]:
    """Return the rolls of rolls.csv by id."""
    return {row["id"]: _stock(Roll, row) for row in _rows("rolls.csv")}


class CautionWords(NamedTuple):
    """The caution of a country: pictogram and words; `level` stands before a hazard level."""

    country: str
    pictogram: str
    signal: str
    words: str
    level: str


@lru_cache
def caution_words() -> Mapping[str, CautionWords]:
    """Return pictogram and words by the tag of language and country, as in `fr-CH`.

    A tag of a language alone serves any country.
    """
    return {
        row["language"]: CautionWords(**{name: row[name] for name in CautionWords._fields})
        for row in _rows("caution_words.csv")
    }


def _rows(name: str) -> list[dict[str, str]]:
    with (SEEDS / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _stock(kind: type[_Stock], row: Mapping[str, str]) -> _Stock:
    values: dict[str, Any] = {name: read(row[name]) for name, read in get_type_hints(kind).items()}
    return kind(**values)
