"""Labels for a roll or tape as a vector PDF, one label a page, every page whole printer dots."""

import io
from collections.abc import Iterable

from reportlab.pdfgen.canvas import Canvas

from labels.design import Label, LabelSettings
from labels.drawing import Drawing
from labels.pdf_page import POINTS_PER_MM, Page, draw, open_canvas
from labels.print_run import Printed, Run
from labels.stock import Face, Roll


def roll_pdf(
    labels: Iterable[Label], roll: Roll, settings: LabelSettings, *, title: str = "Labels"
) -> Printed:
    """Print labels one a page, in the order given.

    Raises: LabelRefusal before anything is returned, so a refused run prints nothing.
    """
    face = roll.face()
    stream = io.BytesIO()
    canvas = open_canvas(stream, face.width_mm, face.height_mm, title)
    page = Page(canvas, face.height_mm, face.dot_mm)
    run = Run(labels, face, settings)
    for index, drawing in enumerate(run.drawings()):
        if index:
            canvas.showPage()
        if drawing.is_on_end:
            _draw_on_end(canvas, drawing, face)
        else:
            draw(page, drawing, 0, 0)
    canvas.save()
    return Printed(stream.getvalue(), run.count, run.count, run.notes)


def _draw_on_end(canvas: Canvas, drawing: Drawing, face: Face) -> None:
    """Draw a label turned to the left."""
    canvas.saveState()
    canvas.transform(0, 1, -1, 0, face.width_mm * POINTS_PER_MM, 0)
    draw(Page(canvas, face.width_mm, face.dot_mm), drawing, 0, 0)
    canvas.restoreState()
