"""Propose the steps that reverse a change, or say exactly what stands in the way.

A proposal is a draft's steps: a person looks at them, may alter them, and has them previewed and
recorded as a job like any other. What a change took away comes back as a new thing: the old one's
identity, history and tags stay with the old one.
"""

from dataclasses import dataclass

from records.changes._checks import existing
from records.changes._undo_draft import UndoDraft
from records.changes._undo_obstacles import notes, obstacles
from records.changes.steps import Step
from records.models import Change
from records.queries.deltas import delta


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """The steps that reverse a change, or the obstacles; `notes` say what stays different."""

    number: int
    steps: tuple[Step, ...]
    obstacles: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def is_possible(self) -> bool:
        """Tell whether nothing is known to stand in the way. A preview has the last word."""
        return not self.obstacles


def propose(number: int) -> Proposal:
    """Return what would reverse a committed change, by what it did and what came after.

    Raises: Missing.
    """
    change = existing(Change.objects.filter(sealed=True), number, field="number")
    changed = delta(change.number)
    in_the_way, said = obstacles(number, changed), tuple(notes(changed))
    steps = [] if in_the_way else UndoDraft(number, changed).gather()
    if not steps:
        return Proposal(number=number, steps=(), obstacles=tuple(in_the_way) or said, notes=())
    return Proposal(number=number, steps=tuple(steps), obstacles=(), notes=said)
