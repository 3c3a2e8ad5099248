"""What a picture is made of: shapes with a class each, from which SVG and PDF are both painted.

Coordinates are those of the picture, from its top left corner, y downwards. What a class looks
like stands in looks.py, for paper; on a page the style sheet says it.
"""

from dataclasses import dataclass
from typing import Literal

Corner = tuple[float, float]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Words:
    """A row of text on its baseline."""

    x: float
    y: float
    text: str
    look: str
    anchor: Anchor = "start"


@dataclass(frozen=True, slots=True)
class Stroke:
    """Straight lines, each through two corners or more; closed ones enclose an area."""

    lines: tuple[tuple[Corner, ...], ...]
    look: str
    is_closed: bool = False


@dataclass(frozen=True, slots=True)
class Polyline:
    """One line through many corners, or the area that they enclose."""

    corners: tuple[Corner, ...]
    look: str
    is_area: bool = False


@dataclass(frozen=True, slots=True)
class Dot:
    """A circle."""

    x: float
    y: float
    radius: float
    look: str = "dot"


@dataclass(frozen=True, slots=True)
class Hatched:
    """A rectangle filled with slanting lines, which need no colour."""

    x: float
    y: float
    width: float
    height: float
    look: str = "window"


Shape = Words | Stroke | Polyline | Dot | Hatched


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Shapes from the back to the front, with a name of its own and what they show in words."""

    name: str
    words: str
    width: float
    height: float
    shapes: tuple[Shape, ...]
