"""What labels are printed on: sheets of labels, and rolls and tapes with one label a page.

Sizes of the usual stock come from seeds.py and are mostly from memory: print the ruled test page
(sheet_pdf.py) and store the offset it shows before trusting a sheet. A `Sheet`, `Offset` or `Roll`
that exists is sound: geometry that runs off the page is refused when it is made.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Self

from labels.refusals import LabelRefusal

INSET_MM: Final = 1.0
"""What stays empty inside the cut of a sheet label. Source: a trade page asks for 1 to 2 mm."""

ROLL_INSET_MM: Final = 0.5
"""What stays empty at the edges of a roll label, where the printhead is the frame. From memory."""

DOT_MM: Final = {203: 0.125, 300: 25.4 / 300, 600: 25.4 / 600}
"""Width of a dot by printer resolution; 203 dpi is 8 dots a mm. Source: sellers' pages."""

OFFICE_DPI: Final = 600
LARGEST_OFFSET_MM: Final = 10.0

_ROUNDING_MM: Final = 1e-6


class StockError(LabelRefusal):
    """Stock that can't be as described, or a place on it that isn't there."""

    code = "label_stock"


@dataclass(frozen=True, slots=True)
class Face:
    """The room one label has: its size, what stays empty inside its edge, the printer's dot.

    A tape's length may go around a cable, since its width won't.
    """

    width_mm: float
    height_mm: float
    inset_mm: float
    dot_mm: float
    is_tape: bool = False

    def on_end(self) -> "Face":
        """Return the same room with its length going down."""
        return replace(self, width_mm=self.height_mm, height_mm=self.width_mm, is_tape=False)


@dataclass(frozen=True, slots=True)
class Offset:
    """How far a printer puts everything to the right and down, to be taken back by printing."""

    x_mm: float = 0.0
    y_mm: float = 0.0

    def __post_init__(self) -> None:
        for name, value in (("right", self.x_mm), ("down", self.y_mm)):
            if not abs(value) <= LARGEST_OFFSET_MM:
                raise StockError(
                    f"An offset of {value} mm {name} is no printer's offset.",
                    f"Give -{LARGEST_OFFSET_MM:g} to {LARGEST_OFFSET_MM:g} mm.",
                )


NO_OFFSET: Final = Offset()


@dataclass(frozen=True, slots=True)
class Cell:
    """One label's place: page from 0, and its top left corner on that page."""

    page: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page of labels in columns and rows. A pitch is the step from edge to edge."""

    id: str
    page: str
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    pitch_x_mm: float
    pitch_y_mm: float
    margin_left_mm: float
    margin_top_mm: float
    corner_mm: float = 0.0
    note: str = ""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        faults = tuple(self._faults())
        if faults:
            raise StockError(
                f"Sheet {self.id}: {'; '.join(faults)}.",
                "Measure the sheet again: page, margins, pitch and label size, in mm.",
            )

    @property
    def per_sheet(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def face(self, dpi: int = OFFICE_DPI) -> Face:
        """Return the room of one label on this sheet, printed at `dpi`."""
        return Face(self.label_width_mm, self.label_height_mm, INSET_MM, dot_mm(dpi))

    def cells(self, start: int = 1, offset: Offset = NO_OFFSET) -> Iterator[Cell]:
        """Yield places row by row without end, from the `start`-th label of the first sheet.

        Raises: StockError for a start that the sheet hasn't, or an offset that runs off the page.
        """
        if not 1 <= start <= self.per_sheet:
            raise StockError(
                f"Sheet {self.id} has labels 1 to {self.per_sheet}; label {start} isn't there.",
                "Give the first label that is still on the sheet, counted row by row.",
            )
        self._check_offset(offset)
        return self._cells(start - 1, offset)

    def _cells(self, index: int, offset: Offset) -> Iterator[Cell]:
        while True:
            page, on_page = divmod(index, self.per_sheet)
            row, column = divmod(on_page, self.columns)
            yield Cell(
                page,
                self.margin_left_mm + column * self.pitch_x_mm + offset.x_mm,
                self.margin_top_mm + row * self.pitch_y_mm + offset.y_mm,
            )
            index += 1

    def _check_offset(self, offset: Offset) -> None:
        """Refuse an offset that moves what is printed inside the outer labels off the page."""
        for axis, shift, before, after in (
            ("right", offset.x_mm, self.margin_left_mm, self._margin_right_mm),
            ("down", offset.y_mm, self.margin_top_mm, self._margin_bottom_mm),
        ):
            least, most = -before - INSET_MM, after + INSET_MM
            if not least - _ROUNDING_MM <= shift <= most + _ROUNDING_MM:
                raise StockError(
                    f"An offset of {shift:g} mm {axis} moves labels of sheet {self.id} off the "
                    "page.",
                    f"It can be {least:.2f} to {most:.2f} mm.",
                )

    @property
    def _margin_right_mm(self) -> float:
        used = (self.columns - 1) * self.pitch_x_mm + self.label_width_mm
        return self.page_width_mm - self.margin_left_mm - used

    @property
    def _margin_bottom_mm(self) -> float:
        used = (self.rows - 1) * self.pitch_y_mm + self.label_height_mm
        return self.page_height_mm - self.margin_top_mm - used

    def _faults(self) -> Iterator[str]:
        yield from _not_positive(
            self,
            "page_width_mm page_height_mm columns rows label_width_mm label_height_mm "
            "pitch_x_mm pitch_y_mm",
        )
        for name in ("margin_left_mm", "margin_top_mm", "corner_mm"):
            if not getattr(self, name) >= 0:
                yield f"{_words(name)} is {getattr(self, name):g}"
        yield from self._overlaps()
        if not self._margin_right_mm >= -_ROUNDING_MM:
            yield f"its labels run {-self._margin_right_mm:.2f} mm off the right edge of the page"
        if not self._margin_bottom_mm >= -_ROUNDING_MM:
            yield f"its labels run {-self._margin_bottom_mm:.2f} mm off the foot of the page"

    def _overlaps(self) -> Iterator[str]:
        for count, pitch_mm, label_mm, way in (
            (self.columns, self.pitch_x_mm, self.label_width_mm, "side by side"),
            (self.rows, self.pitch_y_mm, self.label_height_mm, "one above the other"),
        ):
            if count > 1 and pitch_mm < label_mm - _ROUNDING_MM:
                yield f"labels of {label_mm:g} mm {way} overlap at a pitch of {pitch_mm:g} mm"


@dataclass(frozen=True, slots=True)
class Roll:
    """Labels that come one after another: a tape, cut to length, or die-cut labels.

    `label_width_mm` runs along the text, so for a tape it is the length cut off and
    `label_height_mm` the band that the machine can print.
    """

    id: str
    shape: str
    media_mm: float
    label_width_mm: float
    label_height_mm: float
    dpi: int
    note: str = ""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        faults = list(_not_positive(self, "media_mm label_width_mm label_height_mm"))
        across_mm = self.label_height_mm if self.shape == "tape" else self.label_width_mm
        if across_mm > self.media_mm:
            faults.append(f"it prints {across_mm:g} mm across {self.media_mm:g} mm")
        if faults:
            raise StockError(
                f"Roll {self.id}: {'; '.join(faults)}.",
                "Give the width of the material and the part of it that is printed, in mm.",
            )
        dot_mm(self.dpi)

    @property
    def width_dots(self) -> int:
        """Whole dots along the text."""
        return int(self.label_width_mm / dot_mm(self.dpi) + _ROUNDING_MM)

    @property
    def height_dots(self) -> int:
        """Whole dots across the text."""
        return int(self.label_height_mm / dot_mm(self.dpi) + _ROUNDING_MM)

    def face(self) -> Face:
        """Return the room of one label, in whole dots."""
        dot = dot_mm(self.dpi)
        return Face(
            self.width_dots * dot,
            self.height_dots * dot,
            ROLL_INSET_MM,
            dot,
            is_tape=self.shape == "tape",
        )

    def cut_to(self, label_width_mm: float) -> Self:
        """Return the same roll with labels of another length along the text."""
        return replace(self, label_width_mm=label_width_mm)


def dot_mm(dpi: int) -> float:
    """Return the width of one printer dot.

    Raises: StockError for a resolution that isn't known.
    """
    if dpi not in DOT_MM:
        raise StockError(
            f"{dpi} dpi is not a resolution that labels are made for.",
            f"Choose one of {', '.join(str(known) for known in DOT_MM)} dpi.",
        )
    return DOT_MM[dpi]


def _not_positive(stock: Sheet | Roll, names: str) -> Iterator[str]:
    for name in names.split():
        value = getattr(stock, name)
        if not value > 0:
            yield f"{_words(name)} is {value:g}"


def _words(name: str) -> str:
    return name.removesuffix("_mm").replace("_", " ")
