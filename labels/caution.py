"""The caution at optical ports: its country's pictogram and words, never with a QR.

The hazard level is what an assessor stated on a day. It is printed as given and never computed.
Every pictogram holds the usual starburst for laser radiation: rays from a point with one long
beam. The triangle around it has yellow ground and black border. All is drawn here from its parts.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from labels.design import Label, LabelError, LabelSettings
from labels.drawing import BLACK, WHITE, YELLOW, Box, Drawing, ShapeMark, inside, rectangle, stack
from labels.stock import Face
from labels.text_fit import LEGIBLE_CAP_MM, Line, Row, TextTooLongError, fit
from labels.typefaces import BOLD, REGULAR

_PICTOGRAM_SHARES: Final = (0.36, 0.3, 0.25)
"""Parts of the longer side that the pictogram takes: it gives way to the words, but not far."""

_GAP_MM: Final = 1.5
_SIGNAL_SHARE: Final = 0.16
_WORDS_SHARE: Final = 0.1
_LARGEST_MM: Final = 6.0
_RAYS: Final = 16

TRIANGLE: Final = "triangle"
TRIANGLE_PLATE: Final = "triangle_plate"
"""The triangle, and the words on a yellow plate with a black rim."""

STARBURST: Final = "starburst"
PICTOGRAMS: Final = (TRIANGLE, TRIANGLE_PLATE, STARBURST)

_RIM_MM: Final = 0.4
_PLATE_INSET_MM: Final = 0.8
_LONE_SCALE: Final = 2.0
"""The starburst alone is drawn twice as large as inside a triangle of the same side."""


def caution(label: Label, face: Face, settings: LabelSettings) -> Drawing:
    """Lay out pictogram and words, the pictogram on the left, or on top of a tall label.

    Raises: LabelError for a pictogram that isn't known; TextTooLongError.
    """
    sign = dict(label.fields).get("pictogram", TRIANGLE)
    if sign not in PICTOGRAMS:
        raise LabelError(
            f"There is no pictogram {sign!r}.", f"Choose of: {', '.join(PICTOGRAMS)}."
        )
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
    if sign == TRIANGLE_PLATE:
        plate = (rectangle(rest), rectangle(_shrunk(rest, _RIM_MM), YELLOW))
        rest = _shrunk(rest, _PLATE_INSET_MM)
    rows = _set(label, settings, rest)
    return Drawing(
        face.width_mm,
        face.height_mm,
        tuple(stack(rows, rest, is_centred=not room.is_wide)),
        shapes=(*plate, *(_lone_starburst(square) if sign == STARBURST else pictogram(square))),
    )


def _shrunk(box: Box, by_mm: float) -> Box:
    return Box(
        box.x_mm + by_mm, box.y_mm + by_mm, box.width_mm - 2 * by_mm, box.height_mm - 2 * by_mm
    )


def _lone_starburst(box: Box) -> Iterator[ShapeMark]:
    """Yield the starburst alone, as large as a square box allows for its beam."""
    side_mm = min(box.width_mm, box.height_mm)
    middle_x, middle_y = box.x_mm + box.width_mm / 2, box.y_mm + box.height_mm / 2
    yield from _starburst(middle_x - side_mm * 0.15, middle_y, side_mm * _LONE_SCALE)


def _set(label: Label, settings: LabelSettings, box: Box) -> tuple[Row, ...]:
    lines = tuple(_lines(label, settings, box.height_mm))
    try:
        return fit(lines, box.width_mm, box.height_mm)
    except TextTooLongError:
        dense = tuple(_lines(label, settings, box.height_mm, is_dense=True))
        return fit(dense, box.width_mm, box.height_mm)


def pictogram(box: Box) -> Iterator[ShapeMark]:
    """Yield the warning sign for laser radiation in a square box."""
    side_mm = min(box.width_mm, box.height_mm * 2 / math.sqrt(3))
    height_mm = side_mm * math.sqrt(3) / 2
    foot_mm = box.y_mm + (box.height_mm + height_mm) / 2
    centre_x = box.x_mm + box.width_mm / 2
    centre_y = foot_mm - height_mm / 3
    for scale, ink in ((1.0, BLACK), (0.94, WHITE), (0.9, BLACK), (0.74, YELLOW)):
        yield ShapeMark(_triangle(centre_x, centre_y, height_mm * 2 / 3 * scale), ink)
    yield from _starburst(centre_x, centre_y + height_mm * 0.03, height_mm)


def _triangle(x_mm: float, y_mm: float, radius_mm: float) -> tuple[tuple[float, float], ...]:
    corners = (math.radians(angle) for angle in (-90, 30, 150))
    return tuple(
        (x_mm + radius_mm * math.cos(angle), y_mm + radius_mm * math.sin(angle))
        for angle in corners
    )


def _starburst(x_mm: float, y_mm: float, height_mm: float) -> Iterator[ShapeMark]:
    """Yield rays around a point, every other one longer, and one long beam to the right."""
    yield ShapeMark(_disc(x_mm, y_mm, height_mm * 0.055), BLACK)
    for index in range(_RAYS):
        reach_mm = height_mm * (0.17 if index % 2 else 0.13)
        ray = _ray(2 * math.pi * index / _RAYS, reach_mm, height_mm * 0.012)
        yield ShapeMark(_moved(ray, x_mm, y_mm), BLACK)
    beam = _ray(0.0, height_mm * 0.3, height_mm * 0.02)
    yield ShapeMark(_moved(beam, x_mm, y_mm), BLACK)


def _disc(x_mm: float, y_mm: float, radius_mm: float) -> tuple[tuple[float, float], ...]:
    angles = (2 * math.pi * index / 24 for index in range(24))
    return tuple(
        (x_mm + radius_mm * math.cos(angle), y_mm + radius_mm * math.sin(angle))
        for angle in angles
    )


def _ray(angle: float, reach_mm: float, width_mm: float) -> tuple[tuple[float, float], ...]:
    """Return a thin rectangle from the origin."""
    along_x, along_y = math.cos(angle), math.sin(angle)
    across_x, across_y = -along_y * width_mm / 2, along_x * width_mm / 2
    tip_x, tip_y = along_x * reach_mm, along_y * reach_mm
    return (
        (across_x, across_y),
        (tip_x + across_x, tip_y + across_y),
        (tip_x - across_x, tip_y - across_y),
        (-across_x, -across_y),
    )


def _moved(
    points_mm: tuple[tuple[float, float], ...], x_mm: float, y_mm: float
) -> tuple[tuple[float, float], ...]:
    return tuple((x + x_mm, y + y_mm) for x, y in points_mm)


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
