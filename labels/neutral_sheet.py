"""The neutral sheet of a cupboard: what is patched there at present, by numbers only.

It shows connections that exist, with no hint of what they are used for: no name, no address, no
service. All else is in the protected record.
Source: BSI basic protection catalogue, measure M 2.19.
"""

import io
from collections.abc import Sequence
from dataclasses import astuple, dataclass
from typing import Final, NamedTuple

from labels.drawing import Box, stack, text_mark
from labels.pdf_page import Page, draw_line, draw_text, open_canvas
from labels.print_run import NothingToPrintError, Printed
from labels.stock import OFFICE_DPI, dot_mm
from labels.text_fit import Line, fit
from labels.typefaces import BOLD, REGULAR

_WIDTH_MM: Final = 210.0
_HEIGHT_MM: Final = 297.0
_MARGIN_MM: Final = 15.0
_HEAD_MM: Final = 22.0
_ROW_MM: Final = 6.5
_BASELINE_MM: Final = 4.4
_CELL_GAP_MM: Final = 2.0
_TITLE_CAP_MM: Final = 5.0
_TEXT_CAP_MM: Final = 2.2
_FLOOR_CAP_MM: Final = 1.5
_ROWS_A_PAGE: Final = int((_HEIGHT_MM - 2 * _MARGIN_MM - _HEAD_MM - _ROW_MM) / _ROW_MM)


@dataclass(frozen=True, slots=True)
class Patch:
    """One existing connection, by the numbers that stand on the plant."""

    panel: str
    port: str
    cable: str = ""
    fibre: str = ""
    leg: str = ""


@dataclass(frozen=True, slots=True)
class SheetWords:
    """The words of the sheet in the owner's language."""

    title: str = "Present patching"
    as_of: str = "as of"
    page: str = "page {page} of {pages}"
    columns: tuple[str, ...] = ("Panel", "Port", "Cable", "Fibre", "Leg")
    nothing: str = "Nothing is patched here."


class Cupboard(NamedTuple):
    """A cupboard by its name or code, as on its plate, and what is patched there in order."""

    plate: str
    patches: Sequence[Patch]


def neutral_sheets(
    cupboards: Sequence[Cupboard], as_of: str, words: SheetWords = SheetWords()
) -> Printed:
    """Print the patching of cupboards on A4, each from a page of its own.

    `as_of` is the day, written as the reader does.

    Raises: NothingToPrintError; LabelRefusal for a text that fits no cell or no font can draw.
    """
    if not cupboards:
        raise NothingToPrintError("There is no cupboard here.", "Choose a place that has one.")
    stream = io.BytesIO()
    title = f"{words.title} {cupboards[0].plate}" if len(cupboards) == 1 else words.title
    canvas = open_canvas(stream, _WIDTH_MM, _HEIGHT_MM, title)
    page, printed = Page(canvas, _HEIGHT_MM, dot_mm(OFFICE_DPI)), 0
    for cupboard in cupboards:
        pages = max(1, -(-len(cupboard.patches) // _ROWS_A_PAGE))
        for number in range(1, pages + 1):
            if printed:
                canvas.showPage()
            printed += 1
            count = words.page.format(page=number, pages=pages)
            _head(page, f"{words.title} {cupboard.plate}", f"{words.as_of} {as_of}, {count}")
            start = (number - 1) * _ROWS_A_PAGE
            _table(page, words, cupboard.patches[start : start + _ROWS_A_PAGE])
    canvas.save()
    return Printed(stream.getvalue(), printed, len(cupboards), ())


def _head(page: Page, title: str, subtitle: str) -> None:
    inner_mm = _WIDTH_MM - 2 * _MARGIN_MM
    lines = (
        Line(title, BOLD, _TITLE_CAP_MM, _TEXT_CAP_MM),
        Line(subtitle, REGULAR, _TEXT_CAP_MM, _FLOOR_CAP_MM),
    )
    box = Box(_MARGIN_MM, _MARGIN_MM, inner_mm, _HEAD_MM - _ROW_MM / 2)
    for mark in stack(fit(lines, box.width_mm, box.height_mm), box):
        draw_text(page, mark, 0, 0)


def _table(page: Page, words: SheetWords, rows: Sequence[Patch]) -> None:
    y_mm = _MARGIN_MM + _HEAD_MM
    _row(page, words.columns, y_mm, BOLD)
    for patch in rows:
        y_mm += _ROW_MM
        _rule(page, y_mm)
        _row(page, astuple(patch), y_mm, REGULAR)
    if not rows:
        _rule(page, y_mm + _ROW_MM)
        _row(page, (words.nothing,), y_mm + _ROW_MM, REGULAR)


def _row(page: Page, texts: Sequence[str], y_mm: float, weight: str) -> None:
    column_mm = (_WIDTH_MM - 2 * _MARGIN_MM) / len(texts)
    for index, text in enumerate(texts):
        if not text:
            continue
        box = Box(_MARGIN_MM + index * column_mm, y_mm, column_mm - _CELL_GAP_MM, _ROW_MM)
        rows = fit((Line(text, weight, _TEXT_CAP_MM, _FLOOR_CAP_MM),), box.width_mm, box.height_mm)
        # All cells of a line stand on one baseline, whatever their letters.
        baseline_mm = y_mm + _BASELINE_MM
        alone = len(rows) == 1
        marks = (text_mark(rows[0], box.x_mm, baseline_mm),) if alone else stack(rows, box)
        for mark in marks:
            draw_text(page, mark, 0, 0)


def _rule(page: Page, y_mm: float) -> None:
    draw_line(page, (_MARGIN_MM, y_mm), (_WIDTH_MM - _MARGIN_MM, y_mm))
