"""Tables that are handed over, and how they are written as CSV for office programs.

Source: RFC 4180, section 2 (quotes, CRLF). A byte order mark tells office programs that it is
UTF-8.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

Cell = str | float | None
"""A text, or a figure in the unit that the column's header names; None is an empty cell."""

CM_PER_M = 100
MDB_PER_DB = 1000
"""Of the whole numbers in which the record keeps lengths and losses."""

NO_LIGHT = "no light"
"""What stands for a level where the meter found none, as files that are taken in have it."""

BOM = "\N{ZERO WIDTH NO-BREAK SPACE}"

FORMULA_MARKS = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet program run a cell. Source: OWASP, CSV Injection."""

_ROWS_AT_ONCE = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Columns by their headers, and rows of as many cells."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def guarded(text: str) -> str:
    """Return a text that no spreadsheet program runs: an apostrophe goes before a formula's mark.

    A text that begins with an apostrophe gets one more, so that taking one off is always right.
    Source: OWASP, CSV Injection: a single quote before =, +, -, @, tab and carriage return.
    """
    return f"'{text}" if text.startswith((*FORMULA_MARKS, "'")) else text


def as_text(cell: Cell) -> str:
    """Return a cell as it is written: figures plain, with a point and three decimals at most."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return guarded(cell)
    written = f"{cell:.3f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def csv_of(table: Table) -> Iterator[str]:
    """Yield a table as the text of a CSV file, some rows at once."""
    text = io.StringIO(BOM, newline="")
    text.seek(0, io.SEEK_END)
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([guarded(each) for each in table.columns])
    for count, row in enumerate(table.rows, start=1):
        writer.writerow([as_text(cell) for cell in row])
        if count % _ROWS_AT_ONCE == 0:
            yield text.getvalue()
            text.seek(0)
            text.truncate()
    yield text.getvalue()
