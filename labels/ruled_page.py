"""The ruled test page of a sheet: print it on plain paper, hold it against the labels, measure.

It shows where every label is believed to be, a ruler along two edges, and a length of 100 mm each
way: if that isn't 100 mm, the print was scaled.
"""

import io
from collections.abc import Iterator
from itertools import islice
from typing import Final

from labels.drawing import WHITE, Box, Drawing, TextMark, rectangle, stack
from labels.pdf_page import Page, draw, draw_line, draw_outline, draw_text, open_canvas
from labels.stock import NO_OFFSET, OFFICE_DPI, Offset, Sheet, dot_mm
from labels.text_fit import Line, fit
from labels.typefaces import REGULAR

_CHECK_MM: Final = 100.0
_CROSS_MM: Final = 2.0
_CAP_MM: Final = 2.0
_ROW_MM: Final = 3.0
_CENTIMETRE: Final = 10
_TICK_MM: Final = {10: 4.0, 5: 3.0, 1: 2.0}
# Most printers leave the outer 4 mm empty. From memory.
_RULER_FROM_MM: Final = 4.5


def ruled_page(sheet: Sheet, offset: Offset = NO_OFFSET) -> bytes:
    """Return a PDF of one page with the outlines of a sheet's labels, numbered, and rulers.

    The rulers stand on the page itself and don't move with the offset.
    """
    stream = io.BytesIO()
    canvas = open_canvas(stream, sheet.page_width_mm, sheet.page_height_mm, f"Test of {sheet.id}")
    page = Page(canvas, sheet.page_height_mm, dot_mm(OFFICE_DPI))
    for number, cell in enumerate(islice(sheet.cells(1, offset), sheet.per_sheet), start=1):
        box = Box(cell.x_mm, cell.y_mm, sheet.label_width_mm, sheet.label_height_mm)
        draw_outline(page, box, sheet.corner_mm)
        _cross(page, box)
        middle_mm = (box.x_mm + box.width_mm / 2, box.y_mm + box.height_mm / 2)
        _write(page, str(number), Box(middle_mm[0] + 1, middle_mm[1] - 3.5, 8, _ROW_MM))
    _rulers(page, sheet)
    _check_lengths(page, sheet)
    canvas.save()
    return stream.getvalue()


def _cross(page: Page, box: Box) -> None:
    """Mark the middle of a label."""
    x_mm, y_mm = box.x_mm + box.width_mm / 2, box.y_mm + box.height_mm / 2
    draw_line(page, (x_mm - _CROSS_MM, y_mm), (x_mm + _CROSS_MM, y_mm))
    draw_line(page, (x_mm, y_mm - _CROSS_MM), (x_mm, y_mm + _CROSS_MM))


def _rulers(page: Page, sheet: Sheet) -> None:
    """Draw millimetres from the top left corner of the page, with the centimetres numbered."""
    for at_mm, long_mm in _ticks(sheet.page_width_mm):
        draw_line(page, (at_mm, _RULER_FROM_MM), (at_mm, _RULER_FROM_MM + long_mm))
        if at_mm % _CENTIMETRE == 0:
            _write(page, str(at_mm // _CENTIMETRE), Box(at_mm + 0.5, 6.5, 6, _ROW_MM))
    for at_mm, long_mm in _ticks(sheet.page_height_mm):
        draw_line(page, (_RULER_FROM_MM, at_mm), (_RULER_FROM_MM + long_mm, at_mm))
        if at_mm % _CENTIMETRE == 0:
            _write(page, str(at_mm // _CENTIMETRE), Box(7, at_mm, 6, _ROW_MM))


def _ticks(length_mm: float) -> Iterator[tuple[int, float]]:
    for at_mm in range(_CENTIMETRE, int(length_mm) - 5):
        long_mm = next(long for step, long in _TICK_MM.items() if at_mm % step == 0)
        yield at_mm, long_mm


def _check_lengths(page: Page, sheet: Sheet) -> None:
    x_mm, y_mm = sheet.page_width_mm / 2, sheet.page_height_mm / 2
    half_mm = _CHECK_MM / 2
    for from_mm, to_mm in (
        ((x_mm - half_mm, y_mm), (x_mm + half_mm, y_mm)),
        ((x_mm, y_mm - half_mm), (x_mm, y_mm + half_mm)),
    ):
        draw_line(page, from_mm, to_mm)
    for end_mm in (-half_mm, half_mm):
        draw_line(page, (x_mm + end_mm, y_mm - 3), (x_mm + end_mm, y_mm + 3))
        draw_line(page, (x_mm - 3, y_mm + end_mm), (x_mm + 3, y_mm + end_mm))
    words = f"{sheet.id}: print at 100 %. The two long lines measure {_CHECK_MM:g} mm."
    box = Box(x_mm - half_mm, y_mm + 4, 78, 4)
    ground = Drawing(0, 0, shapes=(rectangle(box, WHITE),))
    draw(page, ground, 0, 0)
    _write(page, words, box)


def _write(page: Page, words: str, box: Box) -> None:
    for mark in _set(words, box):
        draw_text(page, mark, 0, 0)


def _set(words: str, box: Box) -> Iterator[TextMark]:
    rows = fit((Line(words, REGULAR, _CAP_MM, 1.2),), box.width_mm, box.height_mm)
    yield from stack(rows, box)
