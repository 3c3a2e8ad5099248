"""What is wrong with a sheet, as values: where it is, what it is, what is allowed."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from records.intake._columns import FLATS, Layout


class UnreadableError(Exception):
    """A file that is no sheet of flats: what is wrong with it, and what to do."""

    def __init__(self, message: str, *, hint: str) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} {self.hint}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that must be put right before a sheet can be taken in.

    `row` is the row as a spreadsheet program counts it, None for the sheet as a whole. `rows` are
    all the rows that clash. `allowed` says what would do instead.
    """

    row: int | None
    column: str
    value: str
    message: str
    allowed: str
    rows: tuple[int, ...] = ()

    @property
    def rows_said(self) -> str:
        """Return all the rows that clash in words; empty for the sheet as a whole."""
        return said_rows(self.rows)

    @property
    def place(self) -> str:
        """Return where in the sheet it stands: 'rows 3 and 4, Leg'; no rows for all of it."""
        return ", ".join(part for part in (_rows(self.row, self.rows), self.column) if part)

    @property
    def value_shown(self) -> str:
        """Return the cell, cut where it is long."""
        return shown(self.value)

    def __str__(self) -> str:
        return f"{where(self.row, self.column, self.rows)}: {self.message} {self.allowed}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One thing that a person should know, but that stops nothing."""

    row: int | None
    column: str
    message: str

    def __str__(self) -> str:
        return f"{where(self.row, self.column)}: {self.message}"


class FaultsError(Exception):
    """A sheet that was not taken in, and why. Nothing of it was written."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = tuple(faults)


def where(row: int | None, column: str, rows: Sequence[int] = ()) -> str:
    """Return in words where something stands in a sheet."""
    place = _rows(row, rows).capitalize() or "The sheet"
    return ", ".join(part for part in (place, column) if part)


def _rows(row: int | None, rows: Sequence[int]) -> str:
    if len(rows) > 1:
        return f"rows {said_rows(rows)}"
    return "" if row is None else f"row {row}"


RUNS_SAID = 6
"""How many rows, or runs of rows without a gap, are named; of more it is said how many."""


def said_rows(rows: Sequence[int]) -> str:
    """Return rows as people say them.

    >>> said_rows([3, 4]), said_rows([2, 3, 4, 5, 9]), said_rows([])
    ('3 and 4', '2 to 5 and 9', '')
    """
    runs: list[list[int]] = []
    for row in sorted(set(rows)):
        if runs and runs[-1][-1] == row - 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    said = [part for run in runs for part in _said_run(run)]
    named = said[:RUNS_SAID]
    if len(said) > RUNS_SAID:
        named.append(f"{len(said) - RUNS_SAID} more")
    *front, last = named or [""]
    return f"{', '.join(front)} and {last}" if front else last


def _said_run(run: Sequence[int]) -> list[str]:
    first, last = run[0], run[-1]
    return [f"{first} to {last}"] if last > first + 1 else [str(row) for row in run]


CELL_SHOWN = 40
"""Characters of a cell in a table or a sentence."""


def shown(cell: str) -> str:
    """Return a cell as a table or a sentence shows it, cut where it is long."""
    return cell if len(cell) <= CELL_SHOWN else f"{cell[: CELL_SHOWN - 1]}\N{HORIZONTAL ELLIPSIS}"


@dataclass(slots=True)
class Findings:
    """What a check has found so far. `headers` are the columns as the crew calls them."""

    headers: dict[str, str]
    layout: Layout = FLATS
    faults: list[Fault] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    _blamed: set[tuple[int | None, str]] = field(default_factory=set)

    def fault(
        self,
        row: int | None,
        name: str,
        value: object,
        message: str,
        *,
        allowed: str,
        rows: Sequence[int] = (),
    ) -> None:
        """Note a fault in the column of a field, of one row or of all the rows that clash."""
        self._blamed.update((each, name) for each in (row, *rows))
        cell = "" if value is None else str(value)
        self.faults.append(
            Fault(
                row=row,
                column=self.header(name),
                value=cell,
                message=message.replace(cell, shown(cell)) if cell else message,
                allowed=allowed,
                rows=tuple(rows) or (() if row is None else (row,)),
            )
        )

    def remark(self, row: int | None, name: str, message: str) -> None:
        """Note a remark on the column of a field."""
        self.remarks.append(Remark(row=row, column=self.header(name), message=message))

    def is_blamed(self, row: int, name: str) -> bool:
        """Tell whether a row already has a fault in the column of a field."""
        return (row, name) in self._blamed

    def header(self, name: str) -> str:
        """Return what the sheet calls a field, or what the product calls it."""
        return self.headers.get(name) or self.layout.labels.get(name, name)

    def in_order(self) -> tuple[tuple[Fault, ...], tuple[Remark, ...]]:
        """Return faults and remarks from the top of the sheet down."""
        return (
            tuple(sorted(self.faults, key=lambda each: each.row or 0)),
            tuple(sorted(self.remarks, key=lambda each: each.row or 0)),
        )
