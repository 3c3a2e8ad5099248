"""Labels for a roll or tape as a vector PDF, one label a page, every page whole printer dots."""

import io
from collections.abc import Iterable

from labels.design import Label, LabelSettings
from labels.pdf_page import Page, draw, open_canvas
from labels.print_run import Printed, Run
from labels.stock import Roll


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
        draw(page, drawing, 0, 0)
    canvas.save()
    return Printed(stream.getvalue(), run.count, run.count, run.notes)
