"""Paint a picture's shapes into a PDF: the same geometry as on the page, in the looks of paper."""

from typing import Final

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from labels.typefaces import BOLD, REGULAR, measure
from records.handover.looks import LOOKS, PAPER, Look
from records.handover.pack.inks import fill, stroke
from records.handover.pack.type_set import draw_row, drawable
from records.handover.shapes import Dot, Hatched, Picture, Polyline, Shape, Stroke, Words

_HATCH_STEP: Final = 8 * 2**0.5
"""Across which the slanting lines of a hatch stand apart along a level edge: 8 between them."""

_GROUND_ALPHA: Final = 0.8

_TITLE_SIZE: Final = 8.0

_SHARES: Final = {"start": 0.0, "middle": 0.5, "end": 1.0}


class Pictures(Flowable):
    """Pictures side by side, each in an equal part of a width, with a title above."""

    _TITLE = 13.0
    _GAP = 10.0

    def __init__(self, pictures: list[tuple[str, Picture]], widest: float) -> None:
        super().__init__()
        self._pictures = pictures
        self._widest = widest

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Scale them to their part of the width, not wider than they read well."""
        count = len(self._pictures)
        self._each = min(self._widest, (width - self._GAP * (count - 1)) / count)
        tallest = max(picture.height * self._scale(picture) for _, picture in self._pictures)
        return width, tallest + self._TITLE

    def draw(self) -> None:
        """Draw each from its top left corner."""
        canvas: Canvas = self.canv
        for index, (title, picture) in enumerate(self._pictures):
            scale = self._scale(picture)
            canvas.saveState()
            canvas.translate(index * (self._each + self._GAP), picture.height * scale)
            _draw_words(canvas, Words(0, 3, title, "hop"), _TITLE_SIZE)
            canvas.scale(scale, -scale)
            paint(canvas, picture)
            canvas.restoreState()

    def _scale(self, picture: Picture) -> float:
        return self._each / picture.width


def paint(canvas: Canvas, picture: Picture) -> None:
    """Paint a picture on a canvas whose y runs downwards from the picture's top."""
    canvas.setLineJoin(1)
    for shape in picture.shapes:
        canvas.saveState()
        _paint(canvas, shape)
        canvas.restoreState()


def _paint(canvas: Canvas, shape: Shape) -> None:
    look = LOOKS[shape.look] if shape.look in LOOKS else Look()
    _dip(canvas, look)
    match shape:
        case Words():
            canvas.translate(shape.x, shape.y)
            canvas.scale(1, -1)
            _draw_words(canvas, Words(0, 0, shape.text, shape.look, shape.anchor))
        case Stroke():
            _draw_lines(canvas, shape, look)
        case Polyline():
            whole = Stroke((shape.corners,), shape.look, is_closed=shape.is_area)
            _draw_lines(canvas, whole, look)
        case Dot():
            canvas.circle(shape.x, shape.y, shape.radius, stroke=1, fill=1)
        case Hatched():
            _hatch(canvas, shape)


def _dip(canvas: Canvas, look: Look) -> None:
    """Take the inks of a look."""
    if look.fill != "none":
        fill(canvas, look.fill)
        canvas.setFillAlpha(look.opacity)
    if look.stroke != "none":
        stroke(canvas, look.stroke, look.width)
        canvas.setStrokeAlpha(look.opacity)
    if look.dash:
        canvas.setDash(list(look.dash))


def _draw_lines(canvas: Canvas, shape: Stroke, look: Look) -> None:
    path = canvas.beginPath()
    for line in shape.lines:
        path.moveTo(*line[0])
        for corner in line[1:]:
            path.lineTo(*corner)
        if shape.is_closed:
            path.close()
    canvas.drawPath(path, stroke=int(look.stroke != "none"), fill=int(look.fill != "none"))


def _draw_words(canvas: Canvas, words: Words, size: float = 0.0) -> None:
    """Draw a row of text, on a ground of paper where it may lie on lines."""
    look = LOOKS[words.look]
    weight = BOLD if look.is_bold else REGULAR
    row = measure(drawable(words.text, weight), weight)
    size = size or look.size
    width = row.width * size
    x = words.x - width * _SHARES[words.anchor]
    if look.has_halo:
        fill(canvas, PAPER)
        canvas.setFillAlpha(_GROUND_ALPHA)
        canvas.rect(x - 1, words.y - size * 0.22, width + 2, size, stroke=0, fill=1)
        canvas.setFillAlpha(1)
    fill(canvas, look.fill)
    draw_row(canvas, row, (x, words.y), size)


def _paler(colour: str, opacity: float) -> str:
    """Return what a colour comes to on white paper."""
    parts = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{round(255 - (255 - part) * opacity):02x}" for part in parts)


def _hatch(canvas: Canvas, area: Hatched) -> None:
    """Fill a rectangle with slanting lines, drawn once for all pictures of the same window."""
    name = f"hatch-{area.x}-{area.y}-{area.width}-{area.height}"
    if not canvas.hasForm(name):
        canvas.beginForm(name, area.x, area.y, area.x + area.width, area.y + area.height)
        look = LOOKS["hatch"]
        # reportlab's forms know no opacity.
        stroke(canvas, _paler(look.stroke, look.opacity), look.width)
        lines = canvas.beginPath()
        for step in range(int((area.width + area.height) / _HATCH_STEP) + 1):
            at = area.x + step * _HATCH_STEP
            lines.moveTo(at, area.y)
            lines.lineTo(at - area.height, area.y + area.height)
        canvas.drawPath(lines, stroke=1, fill=0)
        canvas.endForm()
    canvas.doForm(name)
