"""The terms of a level: each loss on a path, from the catalogue or measured, with its origin."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from records.light.losses import NO_LOSS, LossMdb
from records.light.plant import LEG, Joint, Passage, Piece
from records.light.plant import Spot as PlantSpot
from records.models import Role
from records.optics.levels import Level
from records.optics.losses import Loss
from records.queries.citations import CitedFigure, figures_at
from records.queries.levels import loss_of
from records.queries.lit_piece import LitPiece
from records.queries.measurements import Measured, Measurement, measured
from records.queries.paths import Hop, Path, Spot

IN_THE_ADAPTER = "counted once, with the pair inside the adapter"
AT_THE_PORT = (
    "not counted: a class states its levels behind the port's own connector (ITU-T G.652 App. I)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One loss on the way, the point it leads to, and the level there.

    Its figures are the catalogue's, unless it was measured; a fibre's are dB a kilometre, to be
    taken over `length_m`. `note` says why a term counts nothing.
    """

    spot: Spot
    by: str
    by_kind: str
    length_m: float
    loss: Loss
    level: Level
    figures: tuple[CitedFigure, ...]
    measured: Measurement | None
    length_measured: Measurement | None
    note: str

    @property
    def is_unconfirmed(self) -> bool:
        """Tell whether any of its figures stands on memory alone."""
        return any(each.citation.is_unconfirmed for each in self.figures)


class Step(NamedTuple):
    """A step of a path as the plant has it: two points, and the joint or passage between them.

    `branching` is the point whose number tells which branch or leg light takes. `is_elsewhere`:
    the joint's pair of plugs is counted elsewhere.
    """

    above: Hop
    below: Hop
    loss: LossMdb
    joint: Joint | None
    passage: Passage | None
    branching: PlantSpot
    is_elsewhere: bool

    @property
    def entry_id(self) -> int:
        """Return the catalogue entry that holds where nothing was measured."""
        part = self.joint or self.passage
        if part is None:
            raise ValueError("A step goes over a joint or through a passage.")
        return part.entry

    @property
    def leg_id(self) -> int | None:
        """Return the splitter leg that the step ends at, if its own loss was measured."""
        is_leg = self.branching.role == LEG and self.branching.measured_mdb is not None
        return self.branching.id if is_leg and self.passage else None

    @property
    def is_measured(self) -> bool:
        """Tell whether the loss was measured on this very thing."""
        part = self.joint or self.passage
        return self.leg_id is not None or (part is not None and part.measured_mdb is not None)


class Known(NamedTuple):
    """What is told of the figures and measurements on a path."""

    figures: dict[int, list[CitedFigure]]
    measured: Measured


def steps_of(path: Path, plant: LitPiece, piece: Piece, wavelength_nm: int) -> list[Step]:
    """Return the steps of a path from the OLT down, each with its loss worked out anew.

    `piece` is that of the plant, put together once for all paths.
    """
    found = []
    for above, below in pairwise(path.hops):
        enter, leave = piece.spots[above.spot.point_id], piece.spots[below.spot.point_id]
        joint = plant.joints[below.joint_id] if below.joint_id is not None else None
        passage = plant.passages[enter.passage] if not joint and enter.passage else None
        if joint:
            loss = piece.joint_loss(joint, wavelength_nm)
        else:
            loss = piece.passage_loss(enter, leave, wavelength_nm)
        branching = enter if enter.role == Role.BRANCH else leave
        is_elsewhere = joint is not None and piece.has_its_pair_elsewhere(joint)
        found.append(Step(above, below, loss or NO_LOSS, joint, passage, branching, is_elsewhere))
    return found


def known_of(steps: list[Step], channel_id: int, wavelength_nm: int) -> Known:
    """Read what is to be told of some steps, with a fixed number of queries."""
    return Known(
        figures=figures_at((step.entry_id for step in steps), wavelength_nm),
        measured=measured(
            passages=[step.passage.id for step in steps if step.passage],
            joints=[step.below.joint_id for step in steps if step.below.joint_id is not None],
            legs=[step.leg_id for step in steps if step.leg_id is not None],
            channels=[channel_id],
        ),
    )


def terms_of(steps: list[Step], known: Known, launch: Level, *, is_down: bool) -> Iterator[Term]:
    """Return the terms in the order light meets them, with the level after each."""
    passed = NO_LOSS
    for step in steps if is_down else reversed(steps):
        passed = passed.plus(step.loss)
        yield Term(
            spot=(step.below if is_down else step.above).spot,
            by=step.below.by,
            by_kind=step.below.by_kind,
            length_m=step.below.length_m,
            loss=loss_of(step.loss),
            level=launch - loss_of(passed),
            figures=figures_of(step, known.figures),
            measured=_loss_measured(step, known.measured),
            length_measured=_length_measured(step, known.measured),
            note=_note(step),
        )


def figures_of(step: Step, figures: Mapping[int, list[CitedFigure]]) -> tuple[CitedFigure, ...]:
    """Return the figures that a step stands on: none where it was measured, or counts nothing."""
    if step.is_measured or _note(step):
        return ()
    return tuple(each for each in figures.get(step.entry_id, ()) if _holds(each, step))


def total(steps: Iterable[Step]) -> Loss:
    """Return the sum of the losses, in whole millidecibels as the record keeps it."""
    passed = NO_LOSS
    for step in steps:
        passed = passed.plus(step.loss)
    return loss_of(passed)


def _note(step: Step) -> str:
    """Return why a mated pair counts nothing: its loss stands elsewhere."""
    if not step.is_elsewhere or step.is_measured:
        return ""
    is_at_a_port = bool({step.above.spot.role, step.below.spot.role} & {Role.PON, Role.TERMINAL})
    return AT_THE_PORT if is_at_a_port else IN_THE_ADAPTER


def _holds(figure: CitedFigure, step: Step) -> bool:
    return figure.branch is None or figure.branch == step.branching.number


def _loss_measured(step: Step, known: Measured) -> Measurement | None:
    if not step.is_measured:
        return None
    if step.leg_id is not None:
        return known.legs.get(step.leg_id)
    if step.below.joint_id is not None:
        return known.joints.get(step.below.joint_id)
    return known.losses.get(step.passage.id) if step.passage else None


def _length_measured(step: Step, known: Measured) -> Measurement | None:
    is_told = step.passage is not None and not step.is_measured
    return known.lengths.get(step.passage.id) if is_told and step.passage else None
