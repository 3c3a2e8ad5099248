"""What a label says, as lines to set: the first field large, the code, then the rest."""

from collections.abc import Sequence
from functools import partial

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
    label: Label,
    settings: LabelSettings,
    height_mm: float,
    *,
    is_dense: bool = False,
    is_end_a_line: bool = False,
) -> tuple[Line, ...]:
    """Return the lines of a label that has `height_mm` of room.

    `is_dense` sets all small fields in one line, for low labels; `is_end_a_line` sets a cable's
    near and far end one under the other, for narrow ones.
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
        shown = ends if is_end_a_line else (" ".join(ends),)
        lines += [Line(_cased(text, label, settings), BOLD, text_mm, floor_mm) for text in shown]
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
    is_split = (False, True) if "far_end" in dict(label.fields) else (False,)
    for is_dense in (False, True):
        ways = [
            lines_of(
                label, settings, box.height_mm, is_dense=is_dense, is_end_a_line=is_end_a_line
            )
            for is_end_a_line in is_split
        ]
        found = [rows for rows in map(partial(_fitted, box), ways) if rows]
        if found:
            return max(found, key=lambda rows: min(row.size_mm for row in rows))
    return fit(ways[0], box.width_mm, box.height_mm)


def _fitted(box: Box, lines: Sequence[Line]) -> tuple[Row, ...]:
    """Return lines set in a box, or nothing where they don't fit."""
    try:
        return fit(lines, box.width_mm, box.height_mm)
    except TextTooLongError:
        return ()


def _from_end_to_end(end: str, near: str, far: str) -> tuple[str, ...]:
    """Say which end this is and where it is, then where the other one is."""
    here = f"{end} {near}".strip()
    return (here, f"\N{RIGHTWARDS ARROW} {far}") if far else (here,)


def _cased(text: str, label: Label, settings: LabelSettings) -> str:
    """Return a text in upper case where the owner wants it; a line's identifier stays as given."""
    return text if label.kind.keeps_case or not settings.has_upper_case_text else text.upper()
