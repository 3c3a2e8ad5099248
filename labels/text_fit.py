"""Text that fits: by measured width it shrinks to a legible floor, then wraps, or is refused.

Nothing runs over an edge and nothing is cut: what doesn't fit is an error that says by how much.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final
from unicodedata import east_asian_width

from labels.refusals import LabelRefusal
from labels.typefaces import Run, cap_height, measure

LEGIBLE_CAP_MM: Final = 2.0
"""Height of capitals of most labels: 16 minutes of arc at 425 mm, before an open box.

Source: 16 minutes of arc is the least for characters of labels in the US Nuclear Regulatory
Commission's NUREG-0700 rev. 2, guideline 1.3.1-4, and the least of ISO 9241-3 as quoted by a maker
of screens. The distances are ours.
"""

CORD_CAP_MM: Final = 1.5
"""Height of capitals on cords and beside single ports: the same angle at 320 mm, in the hand."""

# Room between the ink of two rows, in parts of the lower row's capitals.
_GAP: Final = 0.4
# Tails such as the one of Q get room in every row, so that rows of like text stand alike.
_TAIL: Final = 0.2
_HALVINGS: Final = 6
# A row doesn't begin with a mark that closes what stands before it.
_WIDE: Final = re.compile(
    r".[\u3001\u3002\uff01\uff09\uff0c\uff1a\uff1b\uff1f\u300b\u300d\u300f\u3011]*"
)
_BREAKS: Final = re.compile(r"[^\s\-/]+[\-/]*|[\-/]+|\s+")


class TextTooLongError(LabelRefusal):
    """Text that is not legible in the room it has."""

    code = "label_text_too_long"


@dataclass(frozen=True, slots=True)
class Line:
    """A text to set: the height of its capitals that is wanted, and the least that will do.

    A paragraph wraps before it shrinks; any other line shrinks before it wraps.
    """

    text: str
    weight: str
    cap_mm: float
    floor_mm: float
    is_paragraph: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row of text that fits, with its ink above and below the baseline and the gap before it."""

    text: str
    runs: tuple[Run, ...]
    size_mm: float
    width_mm: float
    above_mm: float
    below_mm: float
    gap_mm: float
    is_right_to_left: bool


def fit(lines: Sequence[Line], width_mm: float, height_mm: float) -> tuple[Row, ...]:
    """Set lines in a box, as large as wanted or as small as needed.

    Raises: TextTooLongError with the figures.
    """
    wanted = _rows_that_fit(lines, width_mm, height_mm, 1.0)
    if wanted is not None:
        return wanted
    least = tuple(_rows(lines, width_mm, 0.0))
    if height_of(least) > height_mm:
        raise TextTooLongError(
            f"{' / '.join(line.text for line in lines)!r} needs {height_of(least):.2f} mm of "
            f"height in its smallest legible size; the label leaves {height_mm:.2f} mm.",
            "Take larger stock or fewer fields.",
        )
    return _largest(lines, width_mm, height_mm, least)


def height_of(rows: Sequence[Row]) -> float:
    """Return the height of rows in mm, from the ink of the first to that of the last."""
    return sum(row.gap_mm + row.above_mm + row.below_mm for row in rows)


def _largest(
    lines: Sequence[Line], width_mm: float, height_mm: float, least: tuple[Row, ...]
) -> tuple[Row, ...]:
    """Find the largest scale that fits, by halving."""
    best, low, high = least, 0.0, 1.0
    for _ in range(_HALVINGS):
        scale = (low + high) / 2
        rows = _rows_that_fit(lines, width_mm, height_mm, scale)
        if rows is None:
            high = scale
        else:
            best, low = rows, scale
    return best


def _rows_that_fit(
    lines: Sequence[Line], width_mm: float, height_mm: float, scale: float
) -> tuple[Row, ...] | None:
    try:
        rows = tuple(_rows(lines, width_mm, scale))
    except TextTooLongError:
        return None
    return rows if height_of(rows) <= height_mm else None


def _rows(lines: Sequence[Line], width_mm: float, scale: float) -> Iterator[Row]:
    is_first = True
    for line in lines:
        for row in _set(line, width_mm, scale):
            yield replace(row, gap_mm=0.0) if is_first else row
            is_first = False


def _set(line: Line, width_mm: float, scale: float) -> Iterator[Row]:
    """Set one line in one row, or, where it would be too small, in several at the floor."""
    cap_em = cap_height(line.weight)
    cap_mm = max(line.floor_mm, line.cap_mm * scale)
    width_em = measure(line.text, line.weight).width
    if width_em * cap_mm / cap_em <= width_mm:
        yield _row(line.text, line, cap_mm)
        return
    shrunk_mm = width_mm * cap_em / width_em
    if shrunk_mm >= line.floor_mm and not line.is_paragraph:
        yield _row(line.text, line, shrunk_mm)
        return
    wrapped_mm = cap_mm if line.is_paragraph else line.floor_mm
    for text in _wrapped(line, width_mm, wrapped_mm):
        yield _row(text, line, wrapped_mm)


def _row(text: str, line: Line, cap_mm: float) -> Row:
    weight = line.weight
    measured = measure(text, weight)
    size_mm = cap_mm / cap_height(weight)
    return Row(
        text,
        measured.runs,
        size_mm,
        width_mm=measured.width * size_mm,
        above_mm=max(cap_mm, measured.above * size_mm),
        below_mm=max(cap_mm * _TAIL, measured.below * size_mm),
        gap_mm=cap_mm * _GAP,
        # A row that holds but a number keeps the side of its line.
        is_right_to_left=measure(line.text, weight).is_right_to_left,
    )


def _wrapped(line: Line, width_mm: float, cap_mm: float) -> Iterator[str]:
    """Break a line after spaces, hyphens and strokes, and between Chinese characters."""
    mm_per_em = cap_mm / cap_height(line.weight)
    text = ""
    for piece in _pieces(line.text):
        if measure((text + piece).rstrip(), line.weight).width * mm_per_em <= width_mm:
            text += piece
            continue
        piece_mm = measure(piece.strip(), line.weight).width * mm_per_em
        if piece_mm > width_mm:
            raise TextTooLongError(
                f"{piece.strip()!r} needs {piece_mm:.2f} mm of width in its smallest legible size "
                f"(capitals of {cap_mm:g} mm); the label leaves {width_mm:.2f} mm.",
                "Take wider stock, or leave this field off the label.",
            )
        if text.strip():
            yield text.strip()
        text = piece.lstrip()
    if text.strip():
        yield text.strip()


def _pieces(text: str) -> Iterator[str]:
    for piece in _BREAKS.findall(text):
        if any(east_asian_width(character) in "WF" for character in piece):
            yield from _WIDE.findall(piece)
        else:
            yield piece
