"""How a reading is drawn in a picture: a diamond where it is as expected, else a cross."""

from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.handover.figures import number
from records.optics.readings import Outcome
from records.queries.readings import Judged

REACH = 7
"""How far a mark reaches from its middle."""

_DIAMOND = "M{x} {top}L{right} {y}L{x} {bottom}L{left} {y}Z"
_CROSS = "M{left} {top}L{right} {bottom}M{right} {top}L{left} {bottom}"


def mark_of(judged: Judged, x: float, y: float) -> SafeString:
    """Return the mark of a reading; shape and colour say the same."""
    is_expected = judged.verdict.outcome is Outcome.AS_EXPECTED
    shape = (_DIAMOND if is_expected else _CROSS).format(
        x=x, y=y, left=x - REACH, right=x + REACH, top=y - REACH, bottom=y + REACH
    )
    return format_html(
        '<path class="reading {}" d="{}"/>', "as-expected" if is_expected else "off", shape
    )


def words_of(judged: Judged) -> str:
    """Return what stands beside the mark."""
    return "no light" if judged.level_dbm is None else f"read {number(judged.level_dbm)}"
