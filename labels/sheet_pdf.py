"""Sheets of labels as a vector PDF: exact, and the same bytes for the same labels.

Print at 100 %, with "fit to page" off. Nothing but the labels is drawn, unless outlines are
asked for.
"""

import io
from collections.abc import Iterable

from labels.design import Label, LabelSettings
from labels.drawing import Box
from labels.pdf_page import Page, draw, draw_outline, open_canvas
from labels.print_run import Printed, Run
from labels.stock import NO_OFFSET, OFFICE_DPI, Offset, Sheet, dot_mm


def sheet_pdf(
    labels: Iterable[Label],
    sheet: Sheet,
    settings: LabelSettings,
    *,
    start: int = 1,
    offset: Offset = NO_OFFSET,
    dpi: int = OFFICE_DPI,
    has_outlines: bool = False,
    title: str = "Labels",
) -> Printed:
    """Print labels on sheets, row by row from the `start`-th label of the first sheet.

    Raises: LabelRefusal before anything is returned, so a refused run prints nothing.
    """
    stream = io.BytesIO()
    canvas = open_canvas(stream, sheet.page_width_mm, sheet.page_height_mm, title)
    page = Page(canvas, sheet.page_height_mm, dot_mm(dpi))
    run = Run(labels, sheet.face(dpi), settings)
    page_number = 0
    for cell, drawing in zip(sheet.cells(start, offset), run.drawings(), strict=False):
        if cell.page != page_number:
            canvas.showPage()
            page_number = cell.page
        if has_outlines:
            edge = Box(cell.x_mm, cell.y_mm, sheet.label_width_mm, sheet.label_height_mm)
            draw_outline(page, edge, sheet.corner_mm)
        draw(page, drawing, cell.x_mm, cell.y_mm)
    canvas.save()
    return Printed(stream.getvalue(), page_number + 1, run.count, run.notes)
