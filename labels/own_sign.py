"""A pictogram of the owner's own: a small picture, taken in once and kept as text.

It is black, yellow and white like the signs drawn here, so that sheets, 1-bit rolls and the screen
show the same. What is kept is those three colours alone: nothing else that came with the file.
"""

import base64
import io
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from itertools import groupby
from typing import Final

from PIL import Image

from labels.refusals import LabelRefusal

Stroke = tuple[int, int, int]

LARGEST_KB: Final = 200
LEAST_PX: Final = 48
MOST_PX: Final = 400
"""Pixels of a side. At 400 a sign of 20 mm is drawn at 500 dpi; under 48 it looks like steps."""

MOST_RUNS: Final = 12_000
"""Strokes of one colour in rows: a sign has a few thousand, a photograph far more."""

_LEAST_BLACK: Final = 0.02
_MOST_FOREIGN: Final = 0.01
_PALETTE: Final = ((255, 255, 255), (0, 0, 0), (255, 204, 0))
_WHITE, _BLACK, _YELLOW = range(len(_PALETTE))
_HINT: Final = (
    f"Give a PNG of {LEAST_PX} to {MOST_PX} pixels a side and at most {LARGEST_KB} kB, in black "
    "and white, or black, yellow and white."
)
_NOT_A_PICTURE: Final = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    IndexError,
    struct.error,
    zlib.error,
)
"""What the library raises for a file that is broken, or no PNG."""


class PictogramError(LabelRefusal):
    """A pictogram that there isn't, or a picture that can't be one."""

    code = "label_pictogram"


@dataclass(frozen=True, slots=True)
class OwnSign:
    """A picture as it is drawn: strokes (x, y, length) in pixels, by colour."""

    width_px: int
    height_px: int
    black: tuple[Stroke, ...]
    yellow: tuple[Stroke, ...]
    name: str
    """What a label records of it, another for each picture."""


def taken_in(file: bytes) -> str:
    """Return a PNG file as it is kept. Raises: PictogramError."""
    if len(file) > LARGEST_KB * 1000:
        raise PictogramError(f"The picture has {len(file) // 1000:,} kB.", _HINT)
    picture = _in_three_colours(_opened(file))
    kept = _kept(picture)
    sign = read(kept)
    if len(sign.black) + len(sign.yellow) > MOST_RUNS:
        raise PictogramError("The picture is too finely patterned for a sign.", _HINT)
    if picture.tobytes().count(_BLACK) < picture.width * picture.height * _LEAST_BLACK:
        raise PictogramError("Hardly anything of the picture is black.", _HINT)
    return kept


def taken_in_again(kept: str) -> str:
    """Return a picture that comes back as text, checked as at first. Raises: PictogramError."""
    try:
        file = base64.b64decode(kept, validate=True)
    except ValueError as error:
        raise PictogramError("The picture is not written in base64.", _HINT) from error
    return taken_in(file)


@lru_cache(maxsize=8)
def read(kept: str) -> OwnSign:
    """Return a picture that was taken in."""
    with Image.open(io.BytesIO(base64.b64decode(kept)), formats=["PNG"]) as picture:
        width, height, pixels = picture.width, picture.height, picture.tobytes()
    runs = list(_runs(pixels, width))
    digest = sha256(struct.pack(">II", width, height) + pixels).hexdigest()
    return OwnSign(
        width,
        height,
        tuple(run for ink, run in runs if ink == _BLACK),
        tuple(run for ink, run in runs if ink == _YELLOW),
        f"own picture {digest[:8]}",
    )


def _opened(file: bytes) -> Image.Image:
    """Read a file no further than its size, then whole."""
    try:
        with Image.open(io.BytesIO(file), formats=["PNG"]) as picture:
            if not all(LEAST_PX <= side <= MOST_PX for side in picture.size):
                width, height = picture.size
                raise PictogramError(f"The picture has {width} by {height} pixels.", _HINT)
            if getattr(picture, "is_animated", False):
                raise PictogramError("The picture moves.", _HINT)
            return picture.convert("RGBA")
    except Image.DecompressionBombError as error:
        raise PictogramError("The picture has far too many pixels.", _HINT) from error
    except _NOT_A_PICTURE as error:
        raise PictogramError("The file is not a PNG picture, or is broken.", _HINT) from error


def _in_three_colours(picture: Image.Image) -> Image.Image:
    """Lay a picture on white and give each pixel the nearest of the three colours."""
    ground = Image.new("RGBA", picture.size, _PALETTE[_WHITE])
    flat = Image.alpha_composite(ground, picture).convert("RGB").tobytes()
    colours = list(zip(flat[0::3], flat[1::3], flat[2::3], strict=True))
    foreign = sum(map(_is_foreign, colours)) / len(colours)
    if foreign > _MOST_FOREIGN:
        raise PictogramError(
            f"{foreign:.0%} of the picture is in other colours than black, yellow and white.",
            _HINT,
        )
    nearest = Image.new("P", picture.size)
    nearest.putpalette([part for colour in _PALETTE for part in colour])
    nearest.putdata(list(map(_nearest, colours)))
    return nearest


def _is_foreign(colour: tuple[int, int, int]) -> bool:
    """Tell whether a colour is no mixture of the three, as the edges of a smooth sign are."""
    red, green, blue = colour
    return green > red + 48 or blue > green + 48 or red > green + 112


@lru_cache(maxsize=4096)
def _nearest(colour: tuple[int, int, int]) -> int:
    return min(
        range(len(_PALETTE)),
        key=lambda ink: sum((a - b) ** 2 for a, b in zip(colour, _PALETTE[ink], strict=True)),
    )


def _kept(picture: Image.Image) -> str:
    stream = io.BytesIO()
    picture.save(stream, format="PNG", optimize=True)
    return base64.b64encode(stream.getvalue()).decode()


def _runs(pixels: bytes, width: int) -> Iterator[tuple[int, Stroke]]:
    """Yield the strokes of all rows, each with its colour."""
    for y, start in enumerate(range(0, len(pixels), width)):
        x = 0
        for ink, those in groupby(pixels[start : start + width]):
            count = len(list(those))
            yield ink, (x, y, count)
            x += count
