"""A job's sheet from bytes to rows. What the cells mean is read later, in _job_cells.py."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

from records.changes.steps import STEPS_MAX
from records.intake._decoding import decoded
from records.intake._faults import Fault, UnreadableError
from records.intake._job_columns import VERB, close_to, column_of, wrong_unit

MAX_BYTES = 1_000_000
_SEPARATORS = ";\t,|"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobRow:
    """One row: its number as a spreadsheet program counts, and its filled cells by column."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSheet:
    """A sheet as it was read: its own headers by column, its rows, the faults of its form."""

    headers: dict[str, str]
    rows: tuple[JobRow, ...]
    faults: tuple[Fault, ...]


def read(data: bytes, *, rows_max: int = STEPS_MAX) -> JobSheet:
    """Read a sheet from the bytes of a CSV file.

    `rows_max` is how many rows are taken here, if fewer than a job can have steps.
    Raises: UnreadableError.
    """
    if len(data) > MAX_BYTES:
        raise UnreadableError(
            f"This file is larger than {MAX_BYTES / 1e6:g} MB.",
            hint="A sheet of steps is far smaller; check that it is the right file.",
        )
    lines = _lines(decoded(data).text)
    if not lines or VERB not in {column_of(cell) for cell in lines[0][1]}:
        raise UnreadableError(
            "The first row names no column 'Verb'.",
            hint="Name the columns in the first row: Verb, then what the steps take.",
        )
    if len(lines) == 1:
        raise UnreadableError("There is no row below the header.", hint="Add one row a step.")
    _refuse_long(len(lines) - 1, rows_max)
    return _sheet(lines)


def _refuse_long(count: int, rows_max: int) -> None:
    if count > STEPS_MAX:
        hint = f"A job has at most {STEPS_MAX} steps; cut it into several."
    elif count > rows_max:
        hint = (
            f"At most {rows_max} are taken here, as nobody can record anything while they are "
            "tried. Cut the sheet into several, or use manage.py draft_job, which takes "
            f"{STEPS_MAX}."
        )
    else:
        return
    raise UnreadableError(f"The sheet has {count} rows.", hint=hint)


Line = tuple[int, list[str]]


def _lines(text: str) -> list[Line]:
    """Return the rows that are not empty, with their numbers."""
    first = text.partition("\n")[0]
    separator = max(
        _SEPARATORS,
        key=lambda each: sum(column_of(cell) is not None for cell in first.split(each)),
    )
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number, lines = 0, []
    try:
        for number, cells in enumerate(reader, start=1):
            cleaned = [" ".join(cell.split()) for cell in cells]
            if any(cleaned):
                lines.append((number, cleaned))
    except csv.Error as error:
        raise UnreadableError(
            f"Row {number + 1} can't be read: {error}.",
            hint="Look for a quotation mark that is not closed or stands inside a cell.",
        ) from error
    return lines


def _sheet(lines: Sequence[Line]) -> JobSheet:
    _number, header = lines[0]
    names = [column_of(cell) for cell in header]
    _refuse_twice(names, header)
    rows, faults = [], []
    for number, cells in lines[1:]:
        named = {}
        for at, cell in enumerate(cells):
            if not cell:
                continue
            name = names[at] if at < len(names) else None
            if name is None:
                faults.append(_nameless(number, cell, header[at] if at < len(header) else ""))
            else:
                named[name] = cell
        rows.append(JobRow(number=number, cells=named))
    headers = {name: cell for name, cell in zip(names, header, strict=True) if name}
    return JobSheet(headers=headers, rows=tuple(rows), faults=tuple(faults))


def _refuse_twice(names: Sequence[str | None], header: Sequence[str]) -> None:
    seen: dict[str, str] = {}
    for name, cell in zip(names, header, strict=True):
        if name is not None and name in seen:
            raise UnreadableError(
                f"Columns '{seen[name]}' and '{cell}' mean the same.",
                hint="Rename or take out one of the two.",
            )
        if name is not None:
            seen[name] = cell


def _nameless(row: int, cell: str, header: str) -> Fault:
    if not header:
        message, allowed = "It stands in no named column.", "Name its column, or take it out."
    elif units := wrong_unit(header):
        message = f"'{header}' is in {units[0]}."
        allowed = f"Convert the column to {units[1]}, and name it so."
    else:
        near = close_to(header)
        message = f"'{header}' is nothing that a step takes."
        allowed = f"Did you mean '{near}'?" if near else "Rename the column, or take it out."
    return Fault(row=row, column=header, value=cell, message=message, allowed=allowed, rows=(row,))
