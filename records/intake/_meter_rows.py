"""From a row's cells to a reading, with every fault that one row shows by itself."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from django.contrib.auth import get_user_model

from records.changes import readings
from records.intake import _cells
from records.intake._cells import CellError, Level
from records.intake._faults import Findings
from records.intake._meter_columns import READINGS
from records.intake._meter_points import MeterPoints
from records.intake._sheet import Row, Sheet
from records.models import Direction, Point, Reading
from records.optics.readings import METER_OFF_DB, possible_dbm, why_impossible
from records.queries.readings import NOT_YET

V = TypeVar("V")

_DIRECTIONS = {
    **dict.fromkeys(("down", "downstream", "downlink", "ds"), Direction.DOWN.value),
    **dict.fromkeys(("up", "upstream", "uplink", "us"), Direction.UP.value),
}
_NUMBERS = frozenset({"wavelength_nm", "level_dbm", "uncertainty_db"})


def _wavelength(cell: str) -> int:
    return _cells.wavelength(cell, *readings.WAVELENGTHS_NM)


def _level(cell: str) -> Level:
    return _cells.level(cell, is_in_a_home=False)


def _direction(cell: str) -> str:
    return _cells.one_of(cell, _DIRECTIONS)


def _uncertainty(cell: str) -> float:
    return _cells.uncertainty(cell, readings.UNCERTAINTY_MAX_DB)


def _meter(cell: str) -> str:
    return _cells.name(cell, 60)


def _note(cell: str) -> str:
    return _cells.name(cell, 200)


@dataclass
class MeterReader:
    """Reads the cells of rows, and notes what is wrong with each.

    `at` is now, `actor` the user who held the meter where a row names none, `people` the users
    by the name with which they sign in, `points` where meters may have been put.
    """

    findings: Findings
    at: datetime
    actor: int
    has_decimal_commas: bool
    people: dict[str, int]
    points: MeterPoints

    def reading(self, row: Row) -> Reading | None:
        """Return the reading of a row, None if anything is wrong with the row."""
        if row.surplus:
            self._note_surplus(row)  # the cells don't stand where they belong
            return None
        known = len(self.findings.faults)
        reading = self._reading(row)
        return None if len(self.findings.faults) > known else reading

    def _reading(self, row: Row) -> Reading | None:
        """Return what a row's cells come to as far as they can be read, faults noted."""
        point = self._needed(row, "where", self.points.point)
        wavelength_nm = self._needed(row, "wavelength_nm", _wavelength)
        level = self._needed(row, "level_dbm", _level)
        way = self._value(row, "direction", _direction) or Direction.DOWN
        off_db = self._value(row, "uncertainty_db", _uncertainty)
        told = {
            "meter": self._value(row, "meter", _meter) or "",
            "taken_by_id": self._value(row, "person", self._person) or self.actor,
            "taken_at": self._value(row, "time", self._moment) or self.at,
            "note": self._value(row, "note", _note) or "",
        }
        if point is not None and level is not None:
            self._refuse_impossible(row, level, point, way)
        if point is None or level is None or wavelength_nm is None:
            return None
        return Reading(
            point_id=point,
            wavelength_nm=wavelength_nm,
            direction=way,
            level_mdbm=None if level.level_dbm is None else round(level.level_dbm * 1000),
            uncertainty_mdb=round((METER_OFF_DB if off_db is None else off_db) * 1000),
            change_id=NOT_YET,
            **told,
        )

    def _needed(self, row: Row, column: str, reader: Callable[[str], V]) -> V | None:
        known = len(self.findings.faults)
        value = self._value(row, column, reader)
        if value is None and len(self.findings.faults) == known:
            told = next(each for each in READINGS.columns if each.name == column)
            message = f"{told.label} is empty."
            self.findings.fault(row.number, column, "", message, allowed=f"{_said(told.means)}.")
        return value

    def _value(self, row: Row, column: str, reader: Callable[[str], V]) -> V | None:
        cell = row.cells.get(column, "")
        try:
            text = _cells.present(cell)
            if text and column in _NUMBERS and not self.has_decimal_commas:
                _cells.refuse_comma(text)
            return reader(text) if text else None
        except CellError as error:
            self.findings.fault(row.number, column, cell, error.message, allowed=error.allowed)
            return None

    def _person(self, cell: str) -> int:
        if cell in self.people:
            return self.people[cell]
        alike = [name for name in self.people if name.casefold() == cell.casefold()]
        if not alike:
            raise CellError(
                f"Nobody signs in as '{cell}'.",
                allowed="The name with which that person signs in, or empty.",
            )
        if len(alike) > 1:
            raise CellError(
                f"'{cell}' may be one of {len(alike)} people.",
                allowed=f"One of: {', '.join(sorted(alike))}.",
            )
        return self.people[alike[0]]

    def _moment(self, cell: str) -> datetime:
        found = _cells.moment(cell)
        if why := readings.why_impossible_then(found, now=self.at):
            raise CellError(why, allowed="A time that has passed; check the year and the zone.")
        return found

    def _refuse_impossible(self, row: Row, level: Level, point: int, way: str) -> None:
        """Note a level that the cell alone allows, and the port that it was read at does not."""
        if level.level_dbm is None or not why_impossible(level.level_dbm, is_in_a_home=True):
            return
        where = Point.objects.select_related("equipment").get(pk=point)
        is_in_a_home = readings.is_in_a_home(where, way)
        if why := why_impossible(level.level_dbm, is_in_a_home=is_in_a_home):
            low, high = possible_dbm(is_in_a_home=is_in_a_home)
            cell = row.cells["level_dbm"]
            allowed = f"dBm from {low:g} to {high:g}, or 'no light'."
            self.findings.fault(row.number, "level_dbm", cell, why, allowed=allowed)

    def _note_surplus(self, row: Row) -> None:
        """Note cells beyond the header, which a decimal comma between commas makes."""
        column = next((name for name in _NUMBERS & row.cells.keys() if _is_cut(row, name)), "")
        self.findings.fault(
            row.number,
            column or "level_dbm",
            row.cells.get(column, "") or ", ".join(row.surplus),
            "The row has more cells than the header. Is there a decimal comma in it?",
            allowed="A decimal point, as in -18.2; or semicolons between the cells.",
        )


def _is_cut(row: Row, column: str) -> bool:
    """Tell whether a number seems to go on in the next cell."""
    names = list(row.cells)
    after = names[names.index(column) + 1 : names.index(column) + 2]
    is_whole = row.cells[column].lstrip("+-").isdecimal()
    return is_whole and any(row.cells[name].isdecimal() for name in after)


def _said(words: str) -> str:
    return words[:1].upper() + words[1:]


def people_in(sheet: Sheet) -> dict[str, int]:
    """Return who may have held a meter, by the very name with which they sign in."""
    if not any(row.cells.get("person") for row in sheet.rows):
        return {}
    found = get_user_model().objects.filter(is_active=True)
    return dict(found.values_list("username", "pk"))
