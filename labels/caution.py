"""The caution at optical ports: its country's pictogram and words, never with a QR.

The hazard level is what an assessor stated on a day. It is printed as given and never computed.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from labels.design import Label, LabelSettings
from labels.drawing import YELLOW, Box, Drawing, ShapeMark, inside, rectangle, stack
from labels.own_sign import read
from labels.pictograms import DRAWN_HERE, in_box, refuse_unknown
from labels.stock import Face
from labels.text_fit import LEGIBLE_CAP_MM, Line, Row, TextTooLongError, fit
from labels.typefaces import BOLD, REGULAR
from records.models import Pictogram

_PICTOGRAM_SHARES: Final = (0.36, 0.3, 0.25)
"""Parts of the longer side that the pictogram takes: it gives way to the words, but not far."""

_GAP_MM: Final = 1.5
_SIGNAL_SHARE: Final = 0.16
_WORDS_SHARE: Final = 0.1
_LARGEST_MM: Final = 6.0
_RIM_MM: Final = 0.4
_PLATE_INSET_MM: Final = 0.8


def caution(label: Label, face: Face, settings: LabelSettings) -> Drawing:
    """Lay out pictogram and words, the pictogram on the left, or on top of a tall label.

    Raises: PictogramError for one that isn't known; TextTooLongError.
    """
    sign = dict(label.fields).get("pictogram", Pictogram.TRIANGLE.value)
    refuse_unknown(sign, settings.own_picture)
    for share in _PICTOGRAM_SHARES[:-1]:
        try:
            return _laid_out(label, face, settings, sign=sign, share=share)
        except TextTooLongError:
            continue
    return _laid_out(label, face, settings, sign=sign, share=_PICTOGRAM_SHARES[-1])


def _laid_out(
    label: Label, face: Face, settings: LabelSettings, *, sign: str, share: float
) -> Drawing:
    room = inside(face)
    longer_mm = max(room.width_mm, room.height_mm)
    side_mm = min(room.width_mm, room.height_mm, longer_mm * share)
    square, rest = room.square_and_rest(side_mm, _GAP_MM)
    plate: tuple[ShapeMark, ...] = ()
    if sign == Pictogram.TRIANGLE_PLATE:
        plate = (rectangle(rest), rectangle(_shrunk(rest, _RIM_MM), YELLOW))
        rest = _shrunk(rest, _PLATE_INSET_MM)
    rows = _set(label, settings, rest)
    return Drawing(
        face.width_mm,
        face.height_mm,
        tuple(stack(rows, rest, is_centred=not room.is_wide)),
        shapes=(*plate, *(DRAWN_HERE[sign](square) if sign in DRAWN_HERE else ())),
        sign=None if sign in DRAWN_HERE else in_box(read(settings.own_picture), square),
    )


def _shrunk(box: Box, by_mm: float) -> Box:
    return Box(
        box.x_mm + by_mm, box.y_mm + by_mm, box.width_mm - 2 * by_mm, box.height_mm - 2 * by_mm
    )


def _set(label: Label, settings: LabelSettings, box: Box) -> tuple[Row, ...]:
    lines = tuple(_lines(label, settings, box.height_mm))
    try:
        return fit(lines, box.width_mm, box.height_mm)
    except TextTooLongError:
        dense = tuple(_lines(label, settings, box.height_mm, is_dense=True))
        return fit(dense, box.width_mm, box.height_mm)


def _lines(
    label: Label, settings: LabelSettings, height_mm: float, *, is_dense: bool = False
) -> Iterator[Line]:
    """Yield the lines of a caution; a dense one has the assessor's statement in one line."""
    signal_mm = min(_LARGEST_MM, height_mm * _SIGNAL_SHARE)
    words_mm = min(_LARGEST_MM, height_mm * _WORDS_SHARE)
    fields = dict(label.fields)
    level, assessed_on = fields.get("level", ""), fields.get("assessed_on", "")
    statement = (f"{level} \N{MIDDLE DOT} {assessed_on}",) if is_dense else (level, assessed_on)
    yield _line(fields["signal"], BOLD, signal_mm, settings)
    yield replace(_line(fields["words"], REGULAR, words_mm, settings), is_paragraph=True)
    for text in statement if level else ():
        yield _line(text, BOLD, words_mm, settings)


def _line(text: str, weight: str, cap_mm: float, settings: LabelSettings) -> Line:
    cased = text.upper() if settings.has_upper_case_text else text
    return Line(cased, weight, max(cap_mm, LEGIBLE_CAP_MM), LEGIBLE_CAP_MM)
