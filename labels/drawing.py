"""A label as it will be printed: marks at places, in millimetres from its top left corner.

Every printer's file is drawn from this one description, so a sheet, a roll and a picture on the
screen can't differ.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from labels.own_sign import OwnSign
from labels.qr import Size, Symbol
from labels.stock import Face
from labels.text_fit import Row, height_of
from labels.typefaces import Run

BLACK: Final = "black"
WHITE: Final = "white"
YELLOW: Final = "yellow"
"""The ground of a caution; printers with one colour leave it white."""


@dataclass(frozen=True, slots=True)
class TextMark:
    """One row of text: its left edge, baseline, font size and measured width."""

    x_mm: float
    baseline_mm: float
    size_mm: float
    width_mm: float
    text: str
    runs: tuple[Run, ...]
    is_right_to_left: bool


@dataclass(frozen=True, slots=True)
class QrMark:
    """A QR symbol: the top left corner of its quiet zone, and its size."""

    x_mm: float
    y_mm: float
    size: Size
    symbol: Symbol


@dataclass(frozen=True, slots=True)
class ShapeMark:
    """A filled polygon."""

    points_mm: tuple[tuple[float, float], ...]
    ink: str


@dataclass(frozen=True, slots=True)
class SignMark:
    """The owner's own pictogram: its top left corner, and how large its pixels are drawn."""

    x_mm: float
    y_mm: float
    pixel_mm: float
    sign: OwnSign


@dataclass(frozen=True, slots=True)
class Drawing:
    """A label laid out. `notes` say, for the person who prints, what was left out and why.

    One that `is_on_end` is drawn upright and printed turned to the left, along a tape.
    """

    width_mm: float
    height_mm: float
    texts: tuple[TextMark, ...] = ()
    qr: QrMark | None = None
    shapes: tuple[ShapeMark, ...] = ()
    sign: SignMark | None = None
    notes: tuple[str, ...] = ()
    is_on_end: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle to put things in."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def is_wide(self) -> bool:
        """Tell whether a square in it leaves its room at the right, else below."""
        return self.width_mm >= self.height_mm

    def square_and_rest(self, side_mm: float, gap_mm: float) -> tuple["Box", "Box"]:
        """Return a square at the left, or on top of a tall box, and the room that remains."""
        taken_mm = side_mm + gap_mm
        if self.is_wide:
            y_mm = self.y_mm + (self.height_mm - side_mm) / 2
            return (
                Box(self.x_mm, y_mm, side_mm, side_mm),
                Box(self.x_mm + taken_mm, self.y_mm, self.width_mm - taken_mm, self.height_mm),
            )
        x_mm = self.x_mm + (self.width_mm - side_mm) / 2
        return (
            Box(x_mm, self.y_mm, side_mm, side_mm),
            Box(self.x_mm, self.y_mm + taken_mm, self.width_mm, self.height_mm - taken_mm),
        )


def inside(face: Face) -> Box:
    """Return the room of a label inside the rim that stays empty."""
    rim_mm = face.inset_mm
    return Box(rim_mm, rim_mm, face.width_mm - 2 * rim_mm, face.height_mm - 2 * rim_mm)


def rectangle(box: Box, ink: str = BLACK) -> ShapeMark:
    """Return a filled rectangle."""
    right, foot = box.x_mm + box.width_mm, box.y_mm + box.height_mm
    return ShapeMark(
        ((box.x_mm, box.y_mm), (right, box.y_mm), (right, foot), (box.x_mm, foot)), ink
    )


def text_mark(row: Row, x_mm: float, baseline_mm: float) -> TextMark:
    """Return a row at a place."""
    return TextMark(
        x_mm,
        baseline_mm,
        row.size_mm,
        row.width_mm,
        row.text,
        row.runs,
        row.is_right_to_left,
    )


def stack(rows: Sequence[Row], box: Box, *, is_centred: bool = False) -> Iterable[TextMark]:
    """Yield rows one under the other, in the middle of the height of a box.

    Rows begin at the left edge, or end at the right one where they read from right to left.
    """
    y_mm = box.y_mm + (box.height_mm - height_of(rows)) / 2
    for row in rows:
        y_mm += row.gap_mm + row.above_mm
        spare_mm = box.width_mm - row.width_mm
        share = 0.5 if is_centred else float(row.is_right_to_left)
        yield text_mark(row, box.x_mm + spare_mm * share, y_mm)
        y_mm += row.below_mm
