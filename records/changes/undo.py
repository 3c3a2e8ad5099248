"""Propose the steps that reverse a change, or say exactly what stands in the way.

A proposal is a draft's steps: a person looks at them, may alter them, and has them previewed and
recorded as a job like any other. What a change took away comes back as a new thing: the old one's
identity, history and tags stay with the old one.
"""

from dataclasses import dataclass

from records.changes._checks import existing
from records.changes._undo_draft import UndoDraft
from records.changes._undo_obstacles import Obstacle, notes, obstacles
from records.changes.refusals import Refusal
from records.changes.steps import Step
from records.models import Change
from records.queries.deltas import delta
from records.queries.touched_places import around

__all__ = ["NotReversible", "Obstacle", "Proposal", "propose", "reversing"]


class NotReversible(Refusal):
    """A change that steps can't reverse as the record stands."""

    code = "not_reversible"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """The steps that reverse a change, or the obstacles; `notes` say what stays different.

    `place` is the smallest one around all that the change touched: where the work is.
    """

    number: int
    steps: tuple[Step, ...]
    obstacles: tuple[Obstacle, ...]
    notes: tuple[str, ...]
    place: int | None = None

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
        stays = tuple(Obstacle(words=words) for words in said)
        return Proposal(number=number, steps=(), obstacles=tuple(in_the_way) or stays, notes=())
    return Proposal(
        number=number, steps=tuple(steps), obstacles=(), notes=said, place=around(changed)
    )


def reversing(number: int) -> tuple[Step, ...]:
    """Return the steps that reverse a change. Raises: Missing, NotReversible."""
    proposal = propose(number)
    if not proposal.is_possible:
        raise NotReversible(
            f"Change {number} can't be undone any more: {proposal.obstacles[0].words}",
            hint="Look at what stands in the way.",
        )
    return proposal.steps
