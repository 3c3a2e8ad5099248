"""Draw labels on a PDF page: vector QR, embedded fonts, millimetres from the top left."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import IO, Final

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from labels.drawing import (
    BLACK,
    WHITE,
    YELLOW,
    Box,
    Drawing,
    QrMark,
    ShapeMark,
    SignMark,
    TextMark,
)
from labels.qr import QUIET_MODULES
from labels.typefaces import REGULAR, primary_font

POINTS_PER_MM: Final = 72 / 25.4
HAIRLINE_MM: Final = 0.1

_INKS: Final = {BLACK: (0.0, 0.0, 0.0), WHITE: (1.0, 1.0, 1.0), YELLOW: (1.0, 0.8, 0.0)}


@dataclass(frozen=True, slots=True)
class Page:
    """A canvas with the height of its pages, and the printer's dot to which QRs are moved."""

    canvas: Canvas
    height_mm: float
    dot_mm: float


def open_canvas(stream: IO[bytes], width_mm: float, height_mm: float, title: str) -> Canvas:
    """Open a PDF whose bytes depend on nothing but what is drawn."""
    canvas = Canvas(
        stream,
        pagesize=(width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM),
        invariant=1,
        pageCompression=1,
        pdfVersion=(1, 6),
        # Otherwise every page names a font that isn't embedded.
        initialFontName=primary_font(REGULAR),
    )
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def draw(page: Page, drawing: Drawing, x_mm: float, y_mm: float) -> None:
    """Draw one label with its top left corner at a place on the page."""
    for shape in drawing.shapes:
        _draw_shape(page, shape, x_mm, y_mm)
    if drawing.sign:
        _draw_sign(page, drawing.sign, x_mm, y_mm)
    if drawing.qr:
        _draw_qr(page, drawing.qr, x_mm, y_mm)
    for text in drawing.texts:
        draw_text(page, text, x_mm, y_mm)


def draw_text(page: Page, text: TextMark, x_mm: float, y_mm: float) -> None:
    """Draw one row of text, run by run."""
    canvas = page.canvas
    size = text.size_mm * POINTS_PER_MM
    x = (x_mm + text.x_mm) * POINTS_PER_MM
    y = (page.height_mm - y_mm - text.baseline_mm) * POINTS_PER_MM
    for run in text.runs:
        canvas.setFont(run.font, size)
        canvas.drawString(x, y, run.text)
        if len(text.runs) > 1:
            x += canvas.stringWidth(run.text, run.font, size)


def draw_outline(page: Page, box: Box, corner_mm: float) -> None:
    """Draw the edge of a label as a hairline."""
    canvas = page.canvas
    canvas.setLineWidth(HAIRLINE_MM * POINTS_PER_MM)
    canvas.roundRect(
        box.x_mm * POINTS_PER_MM,
        (page.height_mm - box.y_mm - box.height_mm) * POINTS_PER_MM,
        box.width_mm * POINTS_PER_MM,
        box.height_mm * POINTS_PER_MM,
        corner_mm * POINTS_PER_MM,
        stroke=1,
        fill=0,
    )


def draw_line(page: Page, from_mm: tuple[float, float], to_mm: tuple[float, float]) -> None:
    """Draw a hairline."""
    page.canvas.setLineWidth(HAIRLINE_MM * POINTS_PER_MM)
    page.canvas.line(
        from_mm[0] * POINTS_PER_MM,
        (page.height_mm - from_mm[1]) * POINTS_PER_MM,
        to_mm[0] * POINTS_PER_MM,
        (page.height_mm - to_mm[1]) * POINTS_PER_MM,
    )


def _draw_shape(page: Page, shape: ShapeMark, x_mm: float, y_mm: float) -> None:
    path = page.canvas.beginPath()
    points = [
        ((x_mm + x) * POINTS_PER_MM, (page.height_mm - y_mm - y) * POINTS_PER_MM)
        for x, y in shape.points_mm
    ]
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    path.close()
    page.canvas.setFillColorRGB(*_INKS[shape.ink])
    page.canvas.drawPath(path, stroke=0, fill=1)
    page.canvas.setFillColorRGB(*_INKS[BLACK])


def _draw_sign(page: Page, mark: SignMark, x_mm: float, y_mm: float) -> None:
    """Draw the owner's own pictogram, each colour as one path."""
    for strokes, ink in ((mark.sign.yellow, YELLOW), (mark.sign.black, BLACK)):
        page.canvas.setFillColorRGB(*_INKS[ink])
        _draw_grid(page, strokes, x_mm + mark.x_mm, y_mm + mark.y_mm, module_mm=mark.pixel_mm)


def _draw_qr(page: Page, mark: QrMark, x_mm: float, y_mm: float) -> None:
    """Draw a QR as one path of whole modules under one transform.

    One path leaves no seams between modules, keeps the file small, and is several times faster
    than a rectangle each. Its corner moves to a dot of the printer, by less than one dot.
    """
    module_mm = mark.size.module_mm
    quiet_mm = QUIET_MODULES * module_mm
    left_mm = _on_dot(x_mm + mark.x_mm, page.dot_mm) + quiet_mm
    top_mm = _on_dot(y_mm + mark.y_mm, page.dot_mm) + quiet_mm
    _draw_grid(page, mark.symbol.runs, left_mm, top_mm, module_mm=module_mm)


def _draw_grid(
    page: Page,
    runs: Sequence[tuple[int, int, int]],
    left_mm: float,
    top_mm: float,
    *,
    module_mm: float,
) -> None:
    """Fill runs of a grid, whose modules are so wide, from its top left corner."""
    canvas = page.canvas
    scale = module_mm * POINTS_PER_MM
    canvas.saveState()
    canvas.transform(
        scale, 0, 0, -scale, left_mm * POINTS_PER_MM, (page.height_mm - top_mm) * POINTS_PER_MM
    )
    canvas.drawPath(PDFPathObject(_path_of(runs)), stroke=0, fill=1)
    canvas.restoreState()


def _path_of(runs: Sequence[tuple[int, int, int]]) -> list[str]:
    """Write the path's operators at once: the library formats each number as a fraction."""
    return [f"{x} {y} {count} 1 re" for x, y, count in runs]


def _on_dot(place_mm: float, dot_mm: float) -> float:
    return round(place_mm / dot_mm) * dot_mm
