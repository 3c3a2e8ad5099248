"""Tables of a pack: cells wrap, rows stay whole, heads are repeated on each page.

Written for this job: reportlab's own table takes a paragraph for each cell that may wrap, which
is ten times slower, and knows no text that is read from right to left.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from records.handover.looks import INK, QUIET, RULE
from records.handover.pack.inks import fill, stroke
from records.handover.pack.type_set import Block, block, draw

MM: Final = 72 / 25.4
SIZE: Final = 7.6
HEAD_SIZE: Final = 6.8
_GAP: Final = 2.2 * MM
_PAD: Final = 0.8 * MM
_CLOSE_GAP: Final = 1.3 * MM
_CLOSE_PAD: Final = 0.35 * MM
_STEP: Final = 4.2 * MM
_BAND_GROUND: Final = "#e9eeec"

Side = Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, its part of the width, and the side on which its text stands."""

    head: str
    part: float
    side: Side = "left"


@dataclass(frozen=True, slots=True)
class Cell:
    """A text in bold, or on a branch of a tree.

    `trunk` says for each step in from the left whether a line goes on below it; the last one is
    the branch that the cell itself hangs on.
    """

    text: str
    is_bold: bool = False
    trunk: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """A row of cells, one a column. A band is one text over all columns, kept with the next."""

    cells: tuple[Cell, ...]
    is_band: bool = False


@dataclass(frozen=True, slots=True)
class _Set:
    """A row set into its widths."""

    row: Row
    blocks: tuple[Block, ...]
    height: float


def row(*cells: str | Cell) -> Row:
    """Return a row of texts and cells."""
    return Row(tuple(each if isinstance(each, Cell) else Cell(each) for each in cells))


def band(text: str) -> Row:
    """Return a row that names those after it."""
    return Row((Cell(text, is_bold=True),), is_band=True)


class Grid(Flowable):
    """A table over the width of the page."""

    def __init__(
        self,
        columns: Sequence[Column],
        rows: Sequence[Row],
        *,
        size: float = SIZE,
        is_close: bool = False,
    ) -> None:
        super().__init__()
        self._columns = tuple(columns)
        self._rows = tuple(rows)
        self._size, self._is_close = size, is_close
        self._pad = _CLOSE_PAD if is_close else _PAD
        self._gap = _CLOSE_GAP if is_close else _GAP
        self._set: tuple[_Set, ...] = ()
        self._width = 0.0

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Set all rows into the width, once."""
        if width != self._width:
            self._width = width
            self._set = tuple(self._set_row(each) for each in self._rows)
        return width, self._head().height + sum(each.height for each in self._set)

    def split(self, width: float, height: float) -> "list[Grid]":
        """Return as many rows as fit with their head, and the rest; nothing where none fits."""
        self.wrap(width, height)
        used, count = self._head().height, 0
        while count < len(self._set) and used + self._set[count].height <= height:
            used += self._set[count].height
            count += 1
        while count and self._set[count - 1].row.is_band:
            count -= 1
        if not count or count == len(self._set):
            return []
        return [self._part(slice(0, count)), self._part(slice(count, None))]

    def draw(self) -> None:
        """Draw head and rows from the top."""
        head = self._head()
        top = head.height + sum(each.height for each in self._set)
        if head.height:
            self._draw_cells(head, top, QUIET)
            top -= head.height
            self._line(top, INK, 0.8)
        for each in self._set:
            if each.row.is_band:
                fill(self.canv, _BAND_GROUND)
                self.canv.rect(0, top - each.height, self._width, each.height, stroke=0, fill=1)
            self._draw_cells(each, top, INK)
            top -= each.height
            self._line(top, RULE, 0.3)

    def _part(self, rows: slice) -> "Grid":
        part = Grid(self._columns, self._rows[rows], size=self._size, is_close=self._is_close)
        part._width, part._set = self._width, self._set[rows]
        return part

    def _widths(self) -> list[float]:
        room = self._width - self._gap * (len(self._columns) - 1)
        whole = sum(each.part for each in self._columns)
        return [room * each.part / whole for each in self._columns]

    def _head(self) -> _Set:
        cells = tuple(Cell(each.head) for each in self._columns)
        blocks = tuple(
            block(cell.text, width, HEAD_SIZE)
            for cell, width in zip(cells, self._widths(), strict=True)
        )
        has_heads = any(each.head for each in self._columns)
        height = max(each.height for each in blocks) + 2 * self._pad if has_heads else 0.0
        return _Set(Row(cells), blocks, height)

    def _set_row(self, each: Row) -> _Set:
        widths = [self._width - 2 * _PAD] if each.is_band else self._widths()
        blocks = tuple(
            block(cell.text, width - _STEP * len(cell.trunk), self._size, is_bold=cell.is_bold)
            for cell, width in zip(each.cells, widths, strict=True)
        )
        return _Set(each, blocks, max(one.height for one in blocks) + 2 * self._pad)

    def _draw_cells(self, each: _Set, top: float, ink: str) -> None:
        canvas: Canvas = self.canv
        fill(canvas, ink)
        if each.row.is_band:
            draw(canvas, each.blocks[0], (_PAD, top - self._pad), self._width - 2 * _PAD)
            return
        x = 0.0
        for column, width, cell, text in zip(
            self._columns, self._widths(), each.row.cells, each.blocks, strict=True
        ):
            inset = _STEP * len(cell.trunk)
            if cell.trunk:
                self._draw_trunk(cell.trunk, x, top, each.height)
            share = 1.0 if column.side == "right" else 0.0
            draw(canvas, text, (x + inset, top - self._pad), width - inset, share=share)
            x += width + self._gap

    def _draw_trunk(self, trunk: tuple[bool, ...], x: float, top: float, height: float) -> None:
        canvas: Canvas = self.canv
        stroke(canvas, QUIET, 0.7)
        middle = top - self._pad - self._size * 0.62
        for depth, goes_on in enumerate(trunk):
            at = x + _STEP * (depth + 0.35)
            is_own = depth == len(trunk) - 1
            if goes_on or is_own:
                canvas.line(at, top, at, top - height if goes_on else middle)
            if is_own:
                canvas.line(at, middle, x + _STEP * (depth + 0.85), middle)

    def _line(self, y: float, ink: str, width: float) -> None:
        stroke(self.canv, ink, width)
        self.canv.line(0, y, self._width, y)
