"""What a label says, as lines to set: the first field large, the code, then the rest."""

from labels.design import Arrangement, Label, LabelSettings
from labels.drawing import Box
from labels.text_fit import Line, Row, TextTooLongError, fit
from labels.typefaces import BOLD, REGULAR
from records.models.tag_code import grouped

# Wanted heights of capitals in parts of the label's height, within what looks right on a wall.
_LARGE_SHARE = 0.3
_LARGEST_MM = 9.0
_TEXT_SHARE = 0.11
_LARGEST_TEXT_MM = 4.5
_DENSE = " \N{MIDDLE DOT} "


def lines_of(
    label: Label, settings: LabelSettings, height_mm: float, *, is_dense: bool = False
) -> tuple[Line, ...]:
    """Return the lines of a label that has `height_mm` of room.

    `is_dense` sets all small fields in one line, for low labels.
    """
    floor_mm = label.kind.floor_cap_mm
    text_mm = max(floor_mm, min(_LARGEST_TEXT_MM, height_mm * _TEXT_SHARE))
    large_mm = max(floor_mm, min(_LARGEST_MM, height_mm * _LARGE_SHARE))
    fields = dict(label.fields)
    lines = []
    if label.kind.fields and (first := fields.pop(label.kind.fields[0], "")):
        is_cable = label.kind.arrangement in {Arrangement.WRAP, Arrangement.FLAG}
        first_mm = text_mm if is_cable else large_mm
        lines.append(Line(_cased(first, label, settings), BOLD, first_mm, floor_mm))
    if label.code:
        code_mm = text_mm if lines else large_mm
        lines.append(Line(grouped(label.code), BOLD, code_mm, floor_mm))
    if end := fields.pop("end", ""):
        ends = _from_end_to_end(end, fields.pop("near_end", ""), fields.pop("far_end", ""))
        lines.append(Line(_cased(ends, label, settings), BOLD, text_mm, floor_mm))
    small = tuple(fields.values())
    shown = (_DENSE.join(small),) if small and is_dense else small
    return (
        *lines,
        *(Line(_cased(text, label, settings), REGULAR, text_mm, floor_mm) for text in shown),
    )


def set_lines(label: Label, settings: LabelSettings, box: Box) -> tuple[Row, ...]:
    """Set the lines of a label in a box, the small fields side by side where rows are too many.

    Raises: TextTooLongError.
    """
    lines = lines_of(label, settings, box.height_mm)
    try:
        return fit(lines, box.width_mm, box.height_mm)
    except TextTooLongError:
        dense = lines_of(label, settings, box.height_mm, is_dense=True)
        return fit(dense, box.width_mm, box.height_mm)


def _from_end_to_end(end: str, near: str, far: str) -> str:
    """Say which end this is, where it is, and where the other one is."""
    if not far:
        return f"{end} {near}".strip()
    return f"{end} {near} \N{RIGHTWARDS ARROW} {far}".replace("  ", " ")


def _cased(text: str, label: Label, settings: LabelSettings) -> str:
    """Return a text in upper case where the owner wants it; a line's identifier stays as given."""
    return text if label.kind.keeps_case or not settings.has_upper_case_text else text.upper()
