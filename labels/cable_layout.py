"""Labels that go around a cable: a wrap under a clear tail, and a flag for thin cords.

The height of the label goes around a wrapped cable; the width of a flag goes around its cord.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from labels.design import Label, LabelSettings
from labels.drawing import Box, Drawing, QrMark, ShapeMark, TextMark, inside, rectangle, stack
from labels.label_lines import lines_of, set_lines
from labels.qr import ModuleTooSmallError, choose, encode
from labels.refusals import LabelRefusal
from labels.stock import Face
from labels.text_fit import Line, Row, TextTooLongError, fit, height_of

FULL_TURN: Final = 1.0
BETTER_TURN: Final = 1.25
"""Clear tail in turns around the cable: at least one, so that it covers the print; better 1¼.

Source: sellers' pages on how cable labels fit; the figures follow from the circumference.
"""

VISIBLE_SHARE: Final = 0.25
"""Part of a cable's surface that is seen square on. Assumed; try it."""

FLAG_PLAY_MM: Final = 1.0
"""What a flag needs beyond the cord's circumference, so that its faces meet. Assumed; try it."""

_SMALLEST_FACE_MM: Final = 10.0
# Height of a row, and from row to row, in parts of its capitals.
_HEIGHT_OF_ROW: Final = 1.2
_PITCH_OF_ROW: Final = 1.6
_BLOCK_GAP_MM: Final = 1.5
_TICK_WIDTH_MM: Final = 0.25
_TICK_MM: Final = 1.5


class CableSizeError(LabelRefusal):
    """A cable that the label can't go around."""

    code = "label_cable_size"


def circumference_mm(label: Label) -> float:
    """Return the way around the cable that a label is for."""
    return math.pi * (label.diameter_mm or 0.0)


def wrap(label: Label, face: Face, settings: LabelSettings) -> Drawing:
    """Lay out text for the printed part of a wrap, again and again around the cable.

    A cord so thin that a legible row would bend out of sight gets a flag, and the notes say so.
    On a tape too narrow for it, the tape's length goes around the cable.

    Raises: CableSizeError where printed part and clear tail don't fit the label's height.
    """
    visible_mm = circumference_mm(label) * VISIBLE_SHARE
    if label.kind.floor_cap_mm * _HEIGHT_OF_ROW > visible_mm:
        note = (
            f"On a cord of {label.diameter_mm:g} mm only {visible_mm:.1f} mm are seen square on, "
            "too little for a legible row. Laid out as a flag."
        )
        flagged = flag(label, face, settings)
        return replace(flagged, notes=(note, *flagged.notes))
    try:
        return _wrapped(label, face, settings)
    except CableSizeError:
        if not face.is_tape:
            raise
        return replace(_wrapped(label, face.on_end(), settings, is_on_end=True), is_on_end=True)


def _wrapped(
    label: Label, face: Face, settings: LabelSettings, *, is_on_end: bool = False
) -> Drawing:
    lines = lines_of(label, settings, face.height_mm)
    rows, printed_mm = _printed_part(label, face, lines, may_wrap=is_on_end)
    box = replace(inside(face), height_mm=printed_mm)
    texts = tuple(_again_and_again(rows, box))
    visible_mm = circumference_mm(label) * VISIBLE_SHARE
    note = (
        f"No QR on a wrap: of a cable of {label.diameter_mm:g} mm, {visible_mm:.1f} mm are seen "
        "square on. Printed as text; a flag can carry a QR."
    )
    return Drawing(face.width_mm, face.height_mm, texts, notes=(note,))


def flag(label: Label, face: Face, settings: LabelSettings) -> Drawing:
    """Lay out two faces: the QR on one, the text on the other; where it won't fit, text on both.

    The part between them goes around the cord; ticks at the edge show where it begins and ends.

    Raises: CableSizeError where the faces would be too narrow.
    """
    room = inside(face)
    zone_mm = circumference_mm(label) + FLAG_PLAY_MM
    side_mm = (face.width_mm - zone_mm) / 2
    if side_mm < _SMALLEST_FACE_MM:
        raise CableSizeError(
            f"A flag around {label.diameter_mm:g} mm needs {zone_mm:.1f} mm for the cord and "
            f"{_SMALLEST_FACE_MM:g} mm for each face; the label is {face.width_mm:.1f} mm wide.",
            "Take wider stock, or a wrap.",
        )
    width_mm = side_mm - 2 * face.inset_mm
    front = Box(room.x_mm, room.y_mm, width_mm, room.height_mm)
    back = replace(front, x_mm=face.width_mm - face.inset_mm - width_mm)
    rows = set_lines(label, settings, front)
    ticks = tuple(_ticks(face, (side_mm, side_mm + zone_mm)))
    try:
        qr = _qr(label, front, face, settings)
    except ModuleTooSmallError as error:
        if settings.requires_qr:
            raise
        return Drawing(
            face.width_mm,
            face.height_mm,
            (*stack(rows, front), *stack(rows, back)),
            shapes=ticks,
            notes=(f"{error.message} Printed as text on both faces.",),
        )
    return Drawing(face.width_mm, face.height_mm, tuple(stack(rows, back)), qr, ticks)


def _printed_part(
    label: Label, face: Face, lines: Sequence[Line], *, may_wrap: bool
) -> tuple[tuple[Row, ...], float]:
    """Return rows and height of the printed part, with the better tail where it leaves room.

    All fields in one row are easier to read around a cable, where the label is long enough. Along
    a narrow tape a field `may_wrap`: one turns the cable to read on.
    """
    around_mm, room = circumference_mm(label), inside(face)
    for turns in (BETTER_TURN, FULL_TURN):
        printed_mm = min(around_mm, face.height_mm - room.y_mm - turns * around_mm)
        box = replace(room, height_mm=printed_mm)
        ways = [_seen_at_once(around_mm, way, box) for way in (_in_one(lines), lines)]
        rows = max(ways, key=lambda way: min((row.size_mm for row in way), default=0.0))
        if may_wrap and not rows:
            rows = _seen_at_once(around_mm, lines, box, may_wrap=True)
        if rows:
            return rows, printed_mm
    raise CableSizeError(
        f"A cable of {label.diameter_mm:g} mm needs {around_mm:.1f} mm of clear tail after the "
        f"print; a label {face.height_mm:.1f} mm high leaves {max(printed_mm, 0.0):.1f} mm for "
        "its text.",
        "Take a higher label, a longer piece of tape, or a flag.",
    )


def _in_one(lines: Sequence[Line]) -> tuple[Line, ...]:
    text = " \N{MIDDLE DOT} ".join(line.text for line in lines)
    return (replace(lines[0], text=text, cap_mm=max(line.cap_mm for line in lines)),)


def _seen_at_once(
    around_mm: float, lines: Sequence[Line], box: Box, *, may_wrap: bool = False
) -> tuple[Row, ...]:
    """Set lines so that a block of them is seen at once, where that is legible, else nothing."""
    seen_mm = around_mm * VISIBLE_SHARE / len(lines) / _PITCH_OF_ROW
    low = tuple(
        replace(line, cap_mm=min(line.cap_mm, max(line.floor_mm, seen_mm))) for line in lines
    )
    try:
        rows = fit(low, box.width_mm, box.height_mm)
    except TextTooLongError:
        return ()
    return rows if may_wrap or len(rows) == len(lines) else ()


def _again_and_again(rows: Sequence[Row], box: Box) -> Iterator[TextMark]:
    """Repeat a block of rows as often as it fits, so that it is read from more sides."""
    block_mm = height_of(rows)
    count = max(1, int((box.height_mm + _BLOCK_GAP_MM) / (block_mm + _BLOCK_GAP_MM)))
    for index in range(count):
        y_mm = box.y_mm + index * (block_mm + _BLOCK_GAP_MM)
        yield from stack(rows, Box(box.x_mm, y_mm, box.width_mm, block_mm))


def _qr(label: Label, box: Box, face: Face, settings: LabelSettings) -> QrMark:
    text = settings.link(label.code)
    room_mm = min(box.width_mm, box.height_mm)
    size = choose(text, room_mm, face.dot_mm, settings.smallest_module_mm)
    return QrMark(
        box.x_mm + (box.width_mm - size.side_mm) / 2,
        box.y_mm + (box.height_mm - size.side_mm) / 2,
        size,
        encode(text, size.version, size.level),
    )


def _ticks(face: Face, places_mm: Sequence[float]) -> Iterator[ShapeMark]:
    for x_mm in places_mm:
        for y_mm in (0.0, face.height_mm - _TICK_MM):
            yield rectangle(Box(x_mm - _TICK_WIDTH_MM / 2, y_mm, _TICK_WIDTH_MM, _TICK_MM))
