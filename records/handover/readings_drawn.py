"""How a reading is drawn in a picture: a diamond where it is as expected, else a cross."""

from records.handover.figures import number
from records.handover.shapes import Stroke
from records.optics.readings import Outcome
from records.queries.readings import Judged

REACH = 7
"""How far a mark reaches from its middle."""


def mark_of(judged: Judged, x: float, y: float) -> Stroke:
    """Return the mark of a reading; shape and colour say the same."""
    left, right, top, bottom = x - REACH, x + REACH, y - REACH, y + REACH
    if judged.verdict.outcome is Outcome.AS_EXPECTED:
        diamond = ((x, top), (right, y), (x, bottom), (left, y))
        return Stroke((diamond,), "reading as-expected", is_closed=True)
    cross = (((left, top), (right, bottom)), ((right, top), (left, bottom)))
    return Stroke(cross, "reading off")


def words_of(judged: Judged) -> str:
    """Return what stands beside the mark."""
    return "no light" if judged.level_dbm is None else f"read {number(judged.level_dbm)}"
