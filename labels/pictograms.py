"""The pictograms of cautions: those drawn here from their parts, and the owner's own.

Those drawn here hold the usual starburst for laser radiation: rays from a point with one long
beam. The triangle around it has yellow ground and black border.
"""

import math
from collections.abc import Iterator
from typing import Final

from labels.drawing import BLACK, WHITE, YELLOW, Box, ShapeMark, SignMark
from labels.own_sign import OwnSign, PictogramError, read
from records.models import Pictogram

_RAYS: Final = 16
_LONE_SCALE: Final = 2.0
"""The starburst alone is drawn twice as large as inside a triangle of the same side."""


def refuse_unknown(name: str, own_picture: str) -> None:
    """Refuse a pictogram that isn't drawn here nor is the owner's own. Raises: PictogramError."""
    if name in DRAWN_HERE or (own_picture and read(own_picture).name == name):
        return
    known = ", ".join(DRAWN_HERE)
    raise PictogramError(
        f"There is no pictogram {name!r}.", f"Choose of: {known}; or give a picture of your own."
    )


def in_box(sign: OwnSign, box: Box) -> SignMark:
    """Return the owner's own picture in the middle of a square box, as large as it goes."""
    pixel_mm = min(box.width_mm / sign.width_px, box.height_mm / sign.height_px)
    return SignMark(
        box.x_mm + (box.width_mm - sign.width_px * pixel_mm) / 2,
        box.y_mm + (box.height_mm - sign.height_px * pixel_mm) / 2,
        pixel_mm,
        sign,
    )


def starburst(box: Box) -> Iterator[ShapeMark]:
    """Yield the starburst alone, as large as a square box allows for its beam."""
    side_mm = min(box.width_mm, box.height_mm)
    middle_x, middle_y = box.x_mm + box.width_mm / 2, box.y_mm + box.height_mm / 2
    yield from _starburst(middle_x - side_mm * 0.15, middle_y, side_mm * _LONE_SCALE)


def triangle(box: Box) -> Iterator[ShapeMark]:
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


DRAWN_HERE: Final = {
    Pictogram.TRIANGLE.value: triangle,
    Pictogram.TRIANGLE_PLATE.value: triangle,
    Pictogram.STARBURST.value: starburst,
}
"""The pictograms that need no picture, and how they are drawn."""
