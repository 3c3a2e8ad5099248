"""Text set into a width: wrapped where it must be, in any language the fonts can draw.

A character that no font can draw stands as its code in brackets: in a document that is better
than to hand over none, or to leave it out in silence.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Final, NamedTuple
from unicodedata import east_asian_width

from reportlab.pdfgen.canvas import Canvas

from labels.typefaces import BOLD, REGULAR, Measure, MissingGlyphError, measure
from records.handover.shapes import Corner

LEADING: Final = 1.28
_ASCENT: Final = 0.94
_BREAKS: Final = re.compile(r"[^\s\-/,]+[\-/,]*|[\-/,]+|\s+")


class Block(NamedTuple):
    """Rows of one text in one weight and size, in points."""

    rows: tuple[Measure, ...]
    size: float

    @property
    def height(self) -> float:
        """Return the height of the rows."""
        return len(self.rows) * self.size * LEADING

    @property
    def width(self) -> float:
        """Return the width of the widest row."""
        return max((row.width for row in self.rows), default=0.0) * self.size


@lru_cache(maxsize=32_768)
def block(text: str, width: float, size: float, *, is_bold: bool = False) -> Block:
    """Set a text into a width in points; a word that is too wide is broken."""
    weight = BOLD if is_bold else REGULAR
    rows = tuple(_rows(text, width / size, weight))
    return Block(rows, size)


def draw(
    canvas: Canvas, set_text: Block, corner: Corner, width: float, *, share: float = 0.0
) -> None:
    """Draw rows from a top left corner; `share` of the spare width is left before each.

    A row that reads from right to left ends at the right edge.
    """
    x, y = corner[0], corner[1] - set_text.size * _ASCENT
    for row in set_text.rows:
        spare = width - row.width * set_text.size
        left = x + spare * (1.0 if row.is_right_to_left else share)
        draw_row(canvas, row, (left, y), set_text.size)
        y -= set_text.size * LEADING


def draw_row(canvas: Canvas, row: Measure, start: Corner, size: float) -> None:
    """Draw one row from its start on the baseline, run by run."""
    x, y = start
    for run in row.runs:
        canvas.setFont(run.font, size)
        canvas.drawString(x, y, run.text)
        if len(row.runs) > 1:
            x += canvas.stringWidth(run.text, run.font, size)


@lru_cache(maxsize=32_768)
def drawable(text: str, weight: str) -> str:
    """Return a row of text with its undrawable characters as codes, such as [U+0E01]."""
    try:
        measure(text, weight)
    except MissingGlyphError:
        return "".join(_drawable(character, weight) for character in text)
    return text


def _drawable(character: str, weight: str) -> str:
    if character.isspace():
        return " "
    try:
        measure(character, weight)
    except MissingGlyphError:
        return f"[U+{ord(character):04X}]"
    return character


def _rows(text: str, width_em: float, weight: str) -> Iterator[Measure]:
    for said in text.splitlines() or [""]:
        line = drawable(said, weight)
        whole = measure(line, weight)
        if whole.width <= width_em:
            yield whole
            continue
        for row in _wrapped(line, width_em, weight):
            # A row that holds but a number keeps the side of its line.
            yield replace(row, is_right_to_left=whole.is_right_to_left)


def _wrapped(line: str, width_em: float, weight: str) -> Iterator[Measure]:
    row = ""
    for piece in _pieces(line, width_em, weight):
        if not row or measure((row + piece).rstrip(), weight).width <= width_em:
            row += piece
            continue
        yield measure(row.strip(), weight)
        row = piece.lstrip()
    if row.strip():
        yield measure(row.strip(), weight)


def _pieces(line: str, width_em: float, weight: str) -> Iterator[str]:
    """Yield words, and the parts of those that are too wide or of a script without spaces."""
    for piece in _BREAKS.findall(line):
        if any(east_asian_width(character) in "WF" for character in piece):
            yield from piece
        elif measure(piece.strip(), weight).width > width_em:
            yield from _parts(piece, width_em, weight)
        else:
            yield piece


def _parts(piece: str, width_em: float, weight: str) -> Iterator[str]:
    part = ""
    for character in piece:
        if part and measure(part + character, weight).width > width_em:
            yield part
            part = ""
        part += character
    yield part
