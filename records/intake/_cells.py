"""From the text of one cell to a value, forgiving in form and strict in sense."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from records.optics.readings import possible_dbm, why_impossible
from records.queries.names import floor_name

_SPREADSHEET_ERRORS = frozenset(
    {"#n/a", "#ref!", "#value!", "#div/0!", "#name?", "#num!", "#null!", "#spill!", "#calc!"}
)
_EMPTY_MARKS = frozenset({"-", "\u2013", "\u2014", "n/a", "na"})
_NO_LIGHT = frozenset({"no light", "nolight", "no signal", "dark", "los", "lo"})

_MINUS = str.maketrans(dict.fromkeys("\u2212\u2013\u2014\ufe63\uff0d", "-"))
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_THOUSANDS_OR_DECIMALS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_COUNTED = re.compile(
    r"(?:leg|port|output|out|fibre|fiber|core|strand|no|nr|l|p|f|#)?[. #]*(\d{1,9})(?:[.,]0+)?",
    re.IGNORECASE,
)
_STOREY = re.compile(
    r"(?:floor|level|storey|story|fl|f|l)?[. ]*(-?\d{1,3})(?:st|nd|rd|th)?(?: +(?:floor|storey))?",
    re.IGNORECASE,
)
_BASEMENT = re.compile(r"(?:basement|b)[. ]*(\d{1,2})?", re.IGNORECASE)
_GROUND = frozenset({"g", "gf", "gr", "ground", "ground floor", "ground level"})
_PON_PORT = re.compile(
    r"(?:(?P<olt>.+?)[\s/:,.-]+)?(?:pon)?[\s.-]*(?:port)?[\s.-]*(?P<number>\d{1,4})", re.IGNORECASE
)

_MOMENT = re.compile(
    r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?(?: ?(?:Z|[+-]\d\d:\d\d))?"
)

STOREYS = (-20, 200)

UNITS = {"m": "metres", "mm": "mm", "nm": "nm", "db": "dB", "dbm": "dBm"}
"""The units that end the name of a figure, and how they are said."""

_METRES = ("metres", "metre", "meters", "meter", "m")


class CellError(ValueError):
    """A cell that says nothing usable: what is wrong, and what is allowed."""

    def __init__(self, message: str, *, allowed: str) -> None:
        super().__init__(message)
        self.message = message
        self.allowed = allowed


@dataclass(frozen=True, slots=True)
class Level:
    """A measured level; None means that the meter saw no light."""

    level_dbm: float | None

    def __str__(self) -> str:
        return "no light" if self.level_dbm is None else f"{self.level_dbm:g} dBm"


@dataclass(frozen=True, slots=True)
class Storey:
    """A floor by name, and by number where it has one: 0 is the ground floor."""

    name: str
    number: int | None


@dataclass(frozen=True, slots=True)
class PonPort:
    """A PON port as a crew writes it; the OLT's name may be left out."""

    olt: str
    number: int

    def __str__(self) -> str:
        return f"PON port {self.number} of {self.olt}" if self.olt else f"PON port {self.number}"


def present(cell: str) -> str:
    """Return a cell's text, empty for the marks that stand for nothing. Raises: CellError."""
    if cell.casefold() in _SPREADSHEET_ERRORS:
        raise CellError(
            f"{cell} is an error of the spreadsheet.",
            allowed="Mend the formula or type the value.",
        )
    return "" if cell.casefold() in _EMPTY_MARKS else cell


def name(cell: str, limit: int) -> str:
    """Return a name. Raises: CellError where it is too long."""
    if len(cell) > limit:
        raise CellError(
            f"The name has {len(cell)} characters.", allowed=f"At most {limit} characters."
        )
    return cell


def whole(cell: str, low: int, high: int) -> int:
    """Return a counting number such as 7, 07, 7.0 or 'Leg 7'. Raises: CellError."""
    found = _COUNTED.fullmatch(cell)
    allowed = f"A whole number from {low} to {high}."
    if found is None:
        raise CellError(f"'{cell}' is not a whole number.", allowed=allowed)
    if not low <= int(found[1]) <= high:
        raise CellError(f"{found[1]} is out of range.", allowed=allowed)
    return int(found[1])


def length(cell: str, high: float) -> float:
    """Return a length in metres such as 12.5, 12,5 or '12 m'. Raises: CellError."""
    bare = _without_unit(cell, *_METRES)
    allowed = f"Metres, above 0 and at most {high:g}."
    if _THOUSANDS_OR_DECIMALS.fullmatch(bare):
        raise CellError(
            f"'{cell}' may be thousands of metres or thousandths.",
            allowed="Write it without a thousands mark, and with two decimals at most.",
        )
    length_m = _number(bare, cell, allowed)
    if not 0 < length_m <= high:
        raise CellError(f"{length_m:g} m is not possible.", allowed=allowed)
    return length_m


def number(cell: str, unit: str) -> float:
    """Return a number such as 1.5, 1,5 or '1.5 m', in the unit of its figure and no other.

    Raises: CellError.
    """
    bare = _in_unit(cell, unit)
    if _THOUSANDS_OR_DECIMALS.fullmatch(bare.lstrip("-")) and "," in bare:
        raise CellError(
            f"'{cell}' may be thousands or thousandths.", allowed="A number without a comma."
        )
    return _number(bare, cell, f"A number{_said(unit)} such as 1.5.")


def integer(cell: str, unit: str) -> int:
    """Return a whole number such as 12, -1, 12.0 or '1490 nm'. Raises: CellError."""
    found = re.fullmatch(r"(-?\d{1,18})(?:[.,]0+)?", _in_unit(cell, unit))
    if found is None:
        raise CellError(
            f"'{cell}' is not a whole number.", allowed=f"A whole number{_said(unit)} such as 12."
        )
    return int(found[1])


def _in_unit(cell: str, unit: str) -> str:
    """Return a cell without the unit of its figure. Raises: CellError for another unit."""
    bare = _without_unit(cell, *(_METRES if unit == "m" else (unit,)))
    other = re.search(r"\d ?([a-z\N{MICRO SIGN}\N{GREEK SMALL LETTER MU}]+)$", bare, re.IGNORECASE)
    if not unit or other is None:
        return bare
    told = re.search(r"\d ?(\D+)$", cell)
    raise CellError(
        f"'{cell}' is in {told[1] if told else other[1]}.",
        allowed=f"A number{_said(unit)}, such as 12.",
    )


def _said(unit: str) -> str:
    return f" in {UNITS[unit]}" if unit else ""


def level(cell: str, *, is_in_a_home: bool) -> Level:
    """Return a level in dBm such as -18.2, -18,2, '-18.2 dBm' or 'no light'.

    `is_in_a_home` is for what comes down to a home. Raises: CellError.
    """
    if cell.casefold() in _NO_LIGHT:
        return Level(None)
    low, high = possible_dbm(is_in_a_home=is_in_a_home)
    allowed = f"dBm from {low:g} to {high:g}, or 'no light'."
    level_dbm = _number(_without_unit(cell, "dbm"), cell, allowed)
    if why := why_impossible(level_dbm, is_in_a_home=is_in_a_home):
        raise CellError(why, allowed=allowed)
    return Level(level_dbm)


def uncertainty(cell: str, high: float) -> float:
    """Return what a meter may be off in dB, such as 0.5, '0.5 dB' or '±0.5'. Raises: CellError."""
    allowed = f"dB from 0 to {high:g}."
    bare = _without_unit(cell, "db").replace("+/-", "").lstrip("\N{PLUS-MINUS SIGN} ")
    off_db = _number(bare, cell, allowed)
    if not 0 <= off_db <= high:
        raise CellError(f"{off_db:g} dB is not possible.", allowed=allowed)
    return off_db


def wavelength(cell: str, low: int, high: int) -> int:
    """Return a wavelength in whole nm such as 1490, 1490.0 or '1490 nm'. Raises: CellError."""
    allowed = f"Whole nm from {low} to {high}, the bands of single-mode fibre."
    found = re.fullmatch(r"(\d{3,4})(?:[.,]0+)?", _without_unit(cell, "nm"))
    if found is None:
        raise CellError(f"'{cell}' is no wavelength in nm.", allowed=allowed)
    if not low <= int(found[1]) <= high:
        raise CellError(f"{found[1]} nm is not known on single-mode fibre.", allowed=allowed)
    return int(found[1])


def one_of(cell: str, known: Mapping[str, str]) -> str:
    """Return what a word means, by a table of words. Raises: CellError."""
    meant = known.get(cell.casefold())
    if meant is None:
        raise CellError(f"'{cell}' is not known.", allowed=f"One of: {', '.join(known)}.")
    return meant


def moment(cell: str) -> datetime:
    """Return a date and time, in UTC unless it says otherwise. Raises: CellError."""
    allowed = "Year, month, day and time: 2026-03-02 09:30, in UTC or with an offset as +02:00."
    if not _MOMENT.fullmatch(cell):
        raise CellError(f"'{cell}' is no date and time that can be read safely.", allowed=allowed)
    try:
        found = datetime.fromisoformat(cell.replace(" +", "+").replace(" Z", "Z"))
    except ValueError as error:
        raise CellError(f"'{cell}' is on no calendar or clock.", allowed=allowed) from error
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def refuse_comma(cell: str) -> None:
    """Refuse a decimal comma where a point was said to be used. Raises: CellError."""
    if re.search(r"\d,\d", cell):
        raise CellError(
            f"'{cell}' has a decimal comma.",
            allowed=f"A point, as in {cell.replace(',', '.')}; or say that this file writes "
            "decimals with a comma.",
        )


def _without_unit(cell: str, *units: str) -> str:
    bare = cell.translate(_MINUS)
    for unit in units:
        if unit and bare.casefold().endswith(unit):
            return bare[: -len(unit)].strip()
    return bare


def _number(bare: str, cell: str, allowed: str) -> float:
    compact = bare.replace("- ", "-")
    if not _NUMBER.fullmatch(compact):
        raise CellError(f"'{cell}' is not a number.", allowed=allowed)
    number = float(compact.replace(",", "."))
    if not math.isfinite(number):
        raise CellError(f"'{cell}' is not a possible number.", allowed=allowed)
    return number


def storey(cell: str) -> Storey:
    """Return a floor: G, 1, '2nd floor', B1 and -1 are understood, others keep their name.

    Raises: CellError.
    """
    if cell.casefold() in _GROUND:
        return _numbered(0)
    below = _BASEMENT.fullmatch(cell)
    if below:
        return _numbered(-int(below[1] or 1))
    found = _STOREY.fullmatch(cell.translate(_MINUS))
    if found is None:
        return Storey(name(cell, 80), None)
    low, high = STOREYS
    if not low <= int(found[1]) <= high:
        raise CellError(f"No building has a floor {found[1]}.", allowed=f"From {low} to {high}.")
    return _numbered(int(found[1]))


def _numbered(number: int) -> Storey:
    return Storey(floor_name(number), number)


def flat_name(cell: str) -> str:
    """Return what a flat is called: a bare number gets its noun."""
    return f"Flat {cell}" if re.fullmatch(r"\d{1,5}[A-Za-z]?|[A-Za-z]\d{0,4}", cell) else cell


def pon_port(cell: str) -> PonPort:
    """Return a PON port such as 'OLT1 3', 'OLT1/3', 'OLT1 PON 3' or '3'. Raises: CellError."""
    found = _PON_PORT.fullmatch(cell)
    if found is None:
        raise CellError(
            f"'{cell}' names no PON port.", allowed="The OLT's name and the port's number: OLT1 3."
        )
    return PonPort((found["olt"] or "").strip(), int(found["number"]))
