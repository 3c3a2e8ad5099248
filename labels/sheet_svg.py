"""One page of labels as a picture for the screen, from the same marks as the printed sheet."""

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Final
from xml.sax.saxutils import escape

from labels.design import Label, LabelSettings
from labels.drawing import BLACK, YELLOW, Drawing, QrMark, ShapeMark, SignMark, TextMark
from labels.print_run import Picture, Run
from labels.qr import QUIET_MODULES
from labels.stock import NO_OFFSET, Offset, Sheet

NAMESPACE: Final = "http://www.w3.org/2000/svg"
HAIRLINE_MM: Final = 0.15
_INKS: Final = {YELLOW: "#ffcc00"}


def sheet_svg(
    labels: Sequence[Label],
    sheet: Sheet,
    settings: LabelSettings,
    *,
    start: int = 1,
    offset: Offset = NO_OFFSET,
    page: int = 0,
) -> Picture:
    """Return an SVG of one page of a print run, pages counted from 0, with outlines.

    It lays out the labels of that page only, so a first look costs one page.

    Raises: LabelRefusal of a label on that page; NothingToPrintError where the page has none.
    """
    before = page * sheet.per_sheet - (start - 1)
    first, last = max(0, before), max(0, before + sheet.per_sheet)
    run = Run(labels[first:last], sheet.face(), settings)
    cells = islice(sheet.cells(start, offset), first, None)
    size = f"{sheet.page_width_mm:g} {sheet.page_height_mm:g}"
    head = 'role="img" aria-label="A page of labels" font-family="sans-serif"'
    parts = [
        f'<svg xmlns="{NAMESPACE}" viewBox="0 0 {size}" {head}>',
        f'<rect width="{sheet.page_width_mm:g}" height="{sheet.page_height_mm:g}" fill="white"/>',
    ]
    for drawing, cell in zip(run.drawings(), cells, strict=False):
        parts.append(f'<g transform="translate({cell.x_mm:.3f} {cell.y_mm:.3f})">')
        parts.append(
            f'<rect width="{sheet.label_width_mm:g}" height="{sheet.label_height_mm:g}" '
            f'rx="{sheet.corner_mm:g}" fill="none" stroke="grey" stroke-width="{HAIRLINE_MM}"/>'
        )
        parts.extend(marks(drawing))
        parts.append("</g>")
    return Picture("".join((*parts, "</svg>")), run.notes)


def label_svg(drawing: Drawing) -> str:
    """Return an SVG of one label with its edge."""
    size = f"{drawing.width_mm:g} {drawing.height_mm:g}"
    head = 'role="img" aria-label="A label" font-family="sans-serif"'
    edge = (
        f'<rect width="{drawing.width_mm:g}" height="{drawing.height_mm:g}" fill="white" '
        f'stroke="grey" stroke-width="{HAIRLINE_MM}"/>'
    )
    drawn = "".join(marks(drawing))
    return f'<svg xmlns="{NAMESPACE}" viewBox="0 0 {size}" {head}>{edge}{drawn}</svg>'


def marks(drawing: Drawing) -> Iterator[str]:
    """Yield the elements of one label's drawing."""
    for shape in drawing.shapes:
        yield _shape(shape)
    if drawing.sign:
        yield from _sign(drawing.sign)
    if drawing.qr:
        yield _qr(drawing.qr)
    for text in drawing.texts:
        yield _text(text)


def _shape(shape: ShapeMark) -> str:
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in shape.points_mm)
    return f'<polygon points="{points}" fill="{_INKS.get(shape.ink, shape.ink)}"/>'


def _sign(mark: SignMark) -> Iterator[str]:
    yield _grid(mark.sign.yellow, mark.x_mm, mark.y_mm, module_mm=mark.pixel_mm, ink=_INKS[YELLOW])
    yield _grid(mark.sign.black, mark.x_mm, mark.y_mm, module_mm=mark.pixel_mm)


def _qr(mark: QrMark) -> str:
    module_mm, quiet_mm = mark.size.module_mm, QUIET_MODULES * mark.size.module_mm
    return _grid(mark.symbol.runs, mark.x_mm + quiet_mm, mark.y_mm + quiet_mm, module_mm=module_mm)


def _grid(
    runs: Sequence[tuple[int, int, int]],
    x_mm: float,
    y_mm: float,
    *,
    module_mm: float,
    ink: str = BLACK,
) -> str:
    path = "".join(f"M{x} {y}h{count}v1h-{count}z" for x, y, count in runs)
    place = f"translate({x_mm:.4f} {y_mm:.4f}) scale({module_mm:.5f})"
    fill = "" if ink == BLACK else f' fill="{ink}"'
    return f'<path transform="{place}" d="{path}"{fill} shape-rendering="crispEdges"/>'


def _text(text: TextMark) -> str:
    """Return a text in reading order: the browser joins and orders its letters itself.

    Its measured length is forced, since the browser has another font.
    """
    weight = "bold" if text.runs[0].font.endswith("Bold") else "normal"
    x_mm = text.x_mm + text.width_mm * text.is_right_to_left
    direction = ' direction="rtl"' if text.is_right_to_left else ""
    return (
        f'<text{direction} x="{x_mm:.3f}" y="{text.baseline_mm:.3f}" '
        f'font-size="{text.size_mm:.3f}" font-weight="{weight}" textLength="{text.width_mm:.3f}" '
        f'lengthAdjust="spacingAndGlyphs">{escape(text.text)}</text>'
    )
