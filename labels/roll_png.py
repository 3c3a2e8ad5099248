"""Labels for a roll or tape as 1-bit pictures, one pixel a printer dot.

A QR module is a whole number of pixels on whole pixels; text is drawn larger and thresholded, so
its width is the one it was measured with.
"""

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from PIL import Image, ImageDraw, ImageFont

from labels.design import Label, LabelSettings
from labels.drawing import BLACK, Drawing, QrMark, ShapeMark, SignMark, TextMark
from labels.print_run import Run
from labels.qr import QUIET_MODULES
from labels.stock import Roll
from labels.typefaces import font_file

_PAPER: Final = 1
_INK: Final = 0
_MM_PER_INCH: Final = 25.4
_OVERSAMPLE: Final = 4
_MORE_THAN_HALF: Final = [0] * 128 + [255] * 128


@dataclass(frozen=True, slots=True)
class Pictures:
    """A print run's pictures as PNG files, and what the person should know of them."""

    images: tuple[bytes, ...]
    notes: tuple[str, ...]


def roll_png(labels: Iterable[Label], roll: Roll, settings: LabelSettings) -> Pictures:
    """Print labels to one 1-bit PNG each, in the order given.

    Raises: LabelRefusal before anything is returned, so a refused run prints nothing.
    """
    run = Run(labels, roll.face(), settings)
    images = tuple(_png(_picture(drawing, roll), roll) for drawing in run.drawings())
    return Pictures(images, run.notes)


def _png(picture: Image.Image, roll: Roll) -> bytes:
    stream = io.BytesIO()
    dpi = _MM_PER_INCH / roll.face().dot_mm
    picture.save(stream, format="PNG", dpi=(dpi, dpi))
    return stream.getvalue()


def _picture(drawing: Drawing, roll: Roll) -> Image.Image:
    size = (roll.width_dots, roll.height_dots)
    picture = Image.new("1", size[::-1] if drawing.is_on_end else size, _PAPER)
    pen = ImageDraw.Draw(picture)
    dot = roll.face().dot_mm
    for shape in drawing.shapes:
        pen.polygon(list(_dots(shape, dot)), fill=_INK if shape.ink == BLACK else _PAPER)
    if drawing.sign:
        _draw_sign(picture, drawing.sign, dot)
    if drawing.qr:
        _draw_qr(picture, drawing.qr, dot)
    for text in drawing.texts:
        _draw_text(picture, text, dot)
    return picture.transpose(Image.Transpose.ROTATE_90) if drawing.is_on_end else picture


def _dots(shape: ShapeMark, dot_mm: float) -> Iterator[tuple[float, float]]:
    for x_mm, y_mm in shape.points_mm:
        yield x_mm / dot_mm, y_mm / dot_mm


def _draw_qr(picture: Image.Image, mark: QrMark, dot_mm: float) -> None:
    side, dots = mark.symbol.side_modules, mark.size.module_dots
    modules = Image.new("1", (side, side), _PAPER)
    pen = ImageDraw.Draw(modules)
    for x, y, count in mark.symbol.runs:
        pen.line((x, y, x + count - 1, y), fill=_INK)
    quiet = QUIET_MODULES * dots
    place = (round(mark.x_mm / dot_mm) + quiet, round(mark.y_mm / dot_mm) + quiet)
    picture.paste(modules.resize((side * dots,) * 2, Image.Resampling.NEAREST), place)


def _draw_sign(picture: Image.Image, mark: SignMark, dot_mm: float) -> None:
    """Draw the black of the owner's own pictogram, dot by dot what is more than half of it."""
    sign = mark.sign
    black = Image.new("L", (sign.width_px, sign.height_px), 0)
    pen = ImageDraw.Draw(black)
    for x, y, count in sign.black:
        pen.line((x, y, x + count - 1, y), fill=255)
    in_dots = mark.pixel_mm / dot_mm
    size = (max(1, int(sign.width_px * in_dots)), max(1, int(sign.height_px * in_dots)))
    mask = black.resize(size, Image.Resampling.BOX).point(_MORE_THAN_HALF, mode="1")
    picture.paste(_INK, (round(mark.x_mm / dot_mm), round(mark.y_mm / dot_mm)), mask)


def _draw_text(picture: Image.Image, text: TextMark, dot_mm: float) -> None:
    """Draw a row of text four times as large, shrink it, and take what is more than half ink."""
    size = text.size_mm / dot_mm
    left, top = int(text.x_mm / dot_mm), int(text.baseline_mm / dot_mm - size * 1.25)
    fonts = [_font(run.font, round(size * _OVERSAMPLE, 2)) for run in text.runs]
    wide = min(picture.width - left, int(text.width_mm / dot_mm + size / 2))
    high = int(size * 1.75)
    large = Image.new("L", (wide * _OVERSAMPLE, high * _OVERSAMPLE), 0)
    pen = ImageDraw.Draw(large)
    x = (text.x_mm / dot_mm - left) * _OVERSAMPLE
    y = (text.baseline_mm / dot_mm - top) * _OVERSAMPLE
    for font, run in zip(fonts, text.runs, strict=True):
        pen.text((x, y), run.text, fill=255, font=font, anchor="ls")
        x += font.getlength(run.text)
    mask = large.reduce(_OVERSAMPLE).point(_MORE_THAN_HALF, mode="1")
    picture.paste(_INK, (left, top), mask)


@lru_cache(maxsize=64)
def _font(name: str, size: float) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(font_file(name)), size, layout_engine=ImageFont.Layout.BASIC)
