"""Labels of a roll as a picture for the screen, one below the other, as they leave the printer."""

from collections.abc import Sequence
from typing import Final

from labels.design import Label, LabelSettings
from labels.drawing import Drawing
from labels.print_run import Picture, Run
from labels.sheet_svg import HAIRLINE_MM, NAMESPACE, marks
from labels.stock import Roll

_GAP_MM: Final = 3.0
_MARGIN_MM: Final = 2.0


def roll_svg(labels: Sequence[Label], roll: Roll, settings: LabelSettings) -> Picture:
    """Return an SVG of some labels of a roll.

    Raises: LabelRefusal of a label at fault; NothingToPrintError where there is none.
    """
    face = roll.face()
    run = Run(labels, face, settings)
    step_mm = face.height_mm + _GAP_MM
    parts = [
        f'<g transform="translate({_MARGIN_MM} {_MARGIN_MM + index * step_mm:.3f})">'
        f'<rect width="{face.width_mm:.3f}" height="{face.height_mm:.3f}" fill="white" '
        f'stroke="grey" stroke-width="{HAIRLINE_MM}"/>{_turned(drawing)}</g>'
        for index, drawing in enumerate(run.drawings())
    ]
    width_mm = face.width_mm + 2 * _MARGIN_MM
    height_mm = len(parts) * step_mm - _GAP_MM + 2 * _MARGIN_MM
    head = (
        f'<svg xmlns="{NAMESPACE}" viewBox="0 0 {width_mm:.3f} {height_mm:.3f}" role="img" '
        'aria-label="Labels of a roll" font-family="sans-serif">'
    )
    return Picture("".join((head, *parts, "</svg>")), run.notes)


def _turned(drawing: Drawing) -> str:
    """Return a drawing's elements, turned to the left where it is on end."""
    elements = "".join(marks(drawing))
    if not drawing.is_on_end:
        return elements
    return f'<g transform="matrix(0 -1 1 0 0 {drawing.width_mm:.3f})">{elements}</g>'
