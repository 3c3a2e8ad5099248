"""What the classes of a picture look like on white paper, in a file of SVG and in a PDF alike.

None of the colours speaks alone: the window is hatched and dashed, a reading that is off is a
cross, and each says its level.
"""

from dataclasses import dataclass
from typing import Final

INK: Final = "#14211f"
QUIET: Final = "#4a5a57"
PAPER: Final = "#ffffff"
GOOD: Final = "#1b6a32"
BAD: Final = "#a01b1b"
LIGHT: Final = "#f0b400"
RULE: Final = "#b9c4c0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a shape or a text is painted; lengths are those of the picture."""

    fill: str = "none"
    stroke: str = "none"
    width: float = 1.0
    opacity: float = 1.0
    dash: tuple[int, ...] = ()
    size: float = 12.0
    is_bold: bool = False
    has_halo: bool = False


LOOKS: Final = {
    "words": Look(fill=INK),
    "words read": Look(fill=INK, is_bold=True, has_halo=True),
    "hop": Look(fill=INK),
    "tick": Look(fill=QUIET, size=11.0),
    "grid": Look(stroke=RULE),
    "hatch": Look(stroke=GOOD, width=1.5, opacity=0.45),
    "limit": Look(stroke=GOOD, width=2.0, dash=(6, 4)),
    "band": Look(fill=LIGHT, opacity=0.45),
    "typical": Look(stroke=INK, width=2.5),
    "dot": Look(fill=PAPER, stroke=INK, width=2.0),
    "reading as-expected": Look(fill=GOOD, stroke=PAPER, width=1.5),
    "reading off": Look(stroke=BAD, width=3.5),
}
