"""From text to a sheet: separator, header, rows. Values are read later, in _entries.py."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice
from typing import BinaryIO, NamedTuple

from records.intake._columns import FLATS, Column, Header, Layout
from records.intake._decoding import decoded, refuse_other_files
from records.intake._faults import Remark, UnreadableError

MAX_BYTES = 5_000_000
MAX_ROWS = 20_000
MAX_CELLS = 100
"""Columns of a sheet."""

_HEAD_BYTES = 65_536
_SEPARATORS = ";\t,|"
_SEPARATOR_LINE = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)
_HEADER_WITHIN = 20
_FEWEST_HEADERS = 2
_GUARDED = ("'=", "'+", "'-", "'@", "''")
"""How a text begins that an export has guarded. Source: OWASP, CSV Injection."""

_NOTHING_SEEN = ("\u200b", "\ufeff")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: its number as a spreadsheet program counts, and its cells by the column's name.

    `surplus` are cells beyond the header, as a comma too many makes them.
    """

    number: int
    cells: dict[str, str]
    surplus: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What a crew's file says, not yet checked. `headers` are the crew's own, by column name."""

    layout: Layout
    headers: dict[str, str]
    rows: tuple[Row, ...]
    header_row: int
    encoding: str
    separator: str
    remarks: tuple[Remark, ...] = ()


Line = tuple[int, list[str]]
"""A row's number and its cells."""


class _Place(NamedTuple):
    column: Column | None
    header: str


def load(file: BinaryIO, layout: Layout = FLATS) -> Sheet:
    """Read a sheet from an open file, never more of it than a sheet may have.

    Raises: UnreadableError.
    """
    head = file.read(_HEAD_BYTES)
    refuse_other_files(head)
    return read(head + file.read(MAX_BYTES + 1 - len(head)), layout)


def read(data: bytes, layout: Layout = FLATS) -> Sheet:
    """Read a sheet from the bytes of a CSV file. Raises: UnreadableError."""
    if len(data) > MAX_BYTES:
        raise UnreadableError(
            f"This file is larger than {MAX_BYTES / 1e6:g} MB.",
            hint=f"A sheet with one row a {layout.each_row} is far smaller; check that it is the "
            "right file, or split it.",
        )
    text, encoding = decoded(data)
    separator, text = _separator(text, layout)
    lines = _lines(text, separator)
    sheet = sheet_of(lines, layout, encoding=encoding, separator=separator)
    if encoding == "cp1252":
        message = "Not UTF-8, so read as Windows-1252: check names with accents."
        told = Remark(row=None, column="", message=message)
        return replace(sheet, remarks=(told, *sheet.remarks))
    return sheet


def _separator(text: str, layout: Layout) -> tuple[str, str]:
    """Return the separator under which most headers are known, and the text to read with it."""
    said = _SEPARATOR_LINE.match(text)
    if said:
        return said[1], text[said.end() :]
    known = {separator: _headers_known(text, separator, layout) for separator in _SEPARATORS}
    best = max(known, key=lambda separator: known[separator])
    if known[best] < _FEWEST_HEADERS:
        raise _headerless(layout)
    return best, text


def _headers_known(text: str, separator: str, layout: Layout) -> int:
    """Return the most headers known in one of the first rows, up to one that can't be read."""
    known = 0
    with suppress(UnreadableError):
        for _, cells in islice(_lines(text, separator), _HEADER_WITHIN):
            known = max(known, _known_count(cells, layout))
    return known


def _known_count(cells: Sequence[str], layout: Layout) -> int:
    return sum(layout.header_of(cell).column is not None for cell in cells[:MAX_CELLS])


def _lines(text: str, separator: str) -> Iterator[Line]:
    """Yield the rows that are not empty, with their numbers."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            cleaned = [_cleaned(cell) for cell in cells]
            if any(cleaned):
                yield number, cleaned
    except csv.Error as error:
        raise UnreadableError(
            f"Row {number + 1} can't be read: {error}.",
            hint="Look for a quotation mark that is not closed or stands inside a cell.",
        ) from error


def _cleaned(cell: str) -> str:
    for mark in _NOTHING_SEEN:
        cell = cell.replace(mark, "")
    return _unguarded(" ".join(cell.split()))


def _unguarded(cell: str) -> str:
    """Return a cell without the apostrophe that keeps a spreadsheet program from running it."""
    return cell[1:] if cell.startswith(_GUARDED) else cell


def sheet_of(lines: Iterator[Line], layout: Layout, *, encoding: str, separator: str) -> Sheet:
    """Make a sheet of numbered rows of cells, whatever file they came from.

    Raises: UnreadableError.
    """
    number, cells, skipped = _header(lines, layout)
    places = _places(number, cells, layout)
    remarks = list(_unknown(places, layout))
    if layout.is_strict and remarks:
        raise _strangers(number, remarks, layout)
    if skipped:
        said = ", ".join(map(str, skipped))
        remarks.append(
            Remark(row=None, column="", message=f"Above the header, not read: row {said}.")
        )
    return Sheet(
        layout=layout,
        headers={place.column.name: place.header for place in places if place.column},
        rows=tuple(_rows(places, lines, layout)),
        header_row=number,
        encoding=encoding,
        separator=separator,
        remarks=tuple(remarks),
    )


def _header(lines: Iterator[Line], layout: Layout) -> tuple[int, list[str], list[int]]:
    """Return the header's number and cells, and the rows above it."""
    skipped: list[int] = []
    for number, cells in islice(lines, _HEADER_WITHIN):
        if _known_count(cells, layout) >= _FEWEST_HEADERS:
            return number, cells, skipped
        skipped.append(number)
    raise _headerless(layout)


def _headerless(layout: Layout) -> UnreadableError:
    return UnreadableError(
        f"No header row was found in the first {_HEADER_WITHIN} rows.",
        hint=f"Name the columns in the first row: {', '.join(layout.labels.values())}. "
        "Part them by commas, semicolons or tabs.",
    )


def _strangers(row: int, remarks: Iterable[Remark], layout: Layout) -> UnreadableError:
    """Return the refusal of columns that a layout does not know."""
    listed = list(remarks)
    names = ", ".join(f"'{each.column}'" for each in listed)
    questions = "".join(each.message.partition("not read.")[2] for each in listed)
    noun = "columns are" if len(listed) > 1 else "column is"
    return UnreadableError(
        f"Row {row}: the {noun} not known here: {names}.{questions}",
        hint=f"Rename or take out what is not one of: {', '.join(layout.labels.values())}.",
    )


def _places(row: int, cells: Sequence[str], layout: Layout) -> list[_Place]:
    """Return what each place of a row holds, by its header. Raises: UnreadableError."""
    if len(cells) > MAX_CELLS:
        raise UnreadableError(
            f"The header in row {row} has {len(cells)} columns.",
            hint=f"A sheet has at most {MAX_CELLS}; take out those that are not needed.",
        )
    headers = [layout.header_of(cell) for cell in cells]
    _refuse_units(cells, headers, layout)
    places = [_Place(h.column, cell) for h, cell in zip(headers, cells, strict=True)]
    _refuse_twice(places)
    _refuse_missing(places, layout)
    return places


def _refuse_units(cells: Sequence[str], headers: Sequence[Header], layout: Layout) -> None:
    for cell, header in zip(cells, headers, strict=True):
        if header.is_ambiguous:
            told = layout.ambiguity(cell)
            raise UnreadableError(f"Column '{cell}' may be {told.may_be}.", hint=told.hint)
        if header.wrong_unit and header.column:
            raise UnreadableError(
                f"Column '{cell}' is in {header.wrong_unit}; {header.column.label.lower()} is "
                f"read in {header.column.unit}.",
                hint=f"Convert the column to {header.column.unit}.",
            )


def _refuse_twice(places: Iterable[_Place]) -> None:
    seen: dict[str, str] = {}
    for column, header in places:
        if column is None:
            continue
        if column.name in seen:
            raise UnreadableError(
                f"Columns '{seen[column.name]}' and '{header}' both mean {column.label.lower()}.",
                hint="Rename or take out one of the two.",
            )
        seen[column.name] = header


def _refuse_missing(places: Iterable[_Place], layout: Layout) -> None:
    listed = list(places)
    present = {column.name for column, _ in listed if column}
    missing = [column for column in layout.needed if column.name not in present]
    if missing:
        unknown = [place.header for place in listed if not place.column and place.header]
        not_known = f" Not known: {', '.join(unknown)}." if unknown else ""
        raise UnreadableError(
            f"Missing columns: {', '.join(column.label for column in missing)}.{not_known}",
            hint=f"Add them to the header; {layout.where_empty}.",
        )


def _unknown(places: Iterable[_Place], layout: Layout) -> Iterator[Remark]:
    listed = list(places)
    present = {place.column for place in listed}
    for column, header in listed:
        if column is None and header:
            absent = [each for each in layout.columns if each not in present]
            meant = layout.close_to(header, absent)
            question = f" Does it mean {meant.label}?" if meant else ""
            yield Remark(
                row=None, column=header, message=f"Not a known column, not read.{question}"
            )


def _rows(places: Sequence[_Place], lines: Iterable[Line], layout: Layout) -> Iterator[Row]:
    for count, (number, cells) in enumerate(lines, start=1):
        if count > MAX_ROWS:
            raise UnreadableError(
                f"This sheet has more than {MAX_ROWS} rows.",
                hint=f"Take it in by {layout.split_by}, one sheet each.",
            )
        named = {
            place.column.name: cell
            for place, cell in zip(places, cells, strict=False)
            if place.column
        }
        beyond = tuple(cell for cell in cells[len(places) :] if cell)
        yield Row(number=number, cells=named, surplus=beyond)
