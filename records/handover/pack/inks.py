"""The colours of a pack as reportlab takes them: it would parse a name each time it is used."""

from functools import cache
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas


def fill(canvas: Canvas, colour: str) -> None:
    """Fill with a colour such as '#14211f'."""
    canvas.setFillColor(_ink(colour))


def stroke(canvas: Canvas, colour: str, width: float) -> None:
    """Draw lines in a colour and a width."""
    canvas.setStrokeColor(_ink(colour))
    canvas.setLineWidth(width)


@cache
def _ink(colour: str) -> Any:
    return HexColor(colour)
