"""Explain a level term by term: where each figure comes from, and what the sums are.

A level is the launch less the losses on the way. Each term is worked out here from the catalogue's
figures and the measured values, not taken from what is stored; the sum is the stored level to the
last digit.
"""

from dataclasses import dataclass

from records.models import ClassDirection, Direction
from records.optics import statistical
from records.optics.bands import middle_nm
from records.optics.classes import needed_dbm
from records.optics.levels import Level
from records.optics.losses import Loss
from records.queries._terms import Term, known_of, steps_of, terms_of, total
from records.queries.cases import Case, K, cases_of, launch_of, side_of
from records.queries.citations import Citation, cited, confirmations
from records.queries.levels import Lit
from records.queries.lit_piece import lit_piece
from records.queries.measurements import Measured, Measurement
from records.queries.paths import Path, paths

__all__ = ["Explanation", "Launch", "Term", "explain", "explain_path"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Launch:
    """Where light starts: the level, the class's row for it, and who measured it if anyone did."""

    level: Level
    standard: str
    citation: Citation
    measured: Measurement | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """A level at a receiver, as its launch and its terms in the order light meets them.

    Down ends at the point, up at the OLT. `cases` are best, typical, statistical and worst; the
    statistical one starts from the weakest launch, as the worst does. `agrees` tells that the sum
    is what the record stores; should it ever not, `manage.py verify` says more.
    """

    lit: Lit
    direction: str
    wavelength_nm: int
    launch: Launch
    terms: tuple[Term, ...]
    loss: Loss
    level: Level
    needed_dbm: float
    cases: tuple[Case, ...]
    method: str
    k: float
    share_within: float
    agrees: bool


def explain(point_id: int, channel_id: int, direction: str) -> Explanation | None:
    """Explain the level of a channel at a point, or at the OLT from there; None where it is dark.

    The number of queries is fixed.
    """
    for path in paths(point_id):
        if path.lit.channel_id == channel_id:
            return explain_path(path, direction)
    return None


def explain_path(path: Path, direction: str) -> Explanation:
    """Explain the level at the end of a path already read, or at the OLT from there."""
    lit, is_down = path.lit, direction == Direction.DOWN
    side = side_of(lit, direction)
    wavelength_nm = middle_nm(side)
    plant = lit_piece([lit.point_id])
    steps = steps_of(path, plant, plant.piece(), wavelength_nm)
    known = known_of(steps, lit.channel_id, wavelength_nm)
    launch = _launch(lit, direction, known.measured)
    terms = tuple(terms_of(steps, known, launch.level, is_down=is_down))
    loss = total(steps)
    return Explanation(
        lit=lit,
        direction=direction,
        wavelength_nm=wavelength_nm,
        launch=launch,
        terms=terms,
        loss=loss,
        level=launch.level - loss,
        needed_dbm=needed_dbm(side),
        cases=cases_of(lit, direction, steps, known.figures),
        method=statistical.METHOD,
        k=K,
        share_within=statistical.share_within(K),
        agrees=loss == (lit.down_loss if is_down else lit.up_loss),
    )


def _launch(lit: Lit, direction: str, known: Measured) -> Launch:
    """Return where light starts; a measured launch is the OLT's, so it holds down only."""
    row = ClassDirection.objects.get(optical_class__channels=lit.channel_id, direction=direction)
    confirmed = confirmations("class_direction", [row.pk]).get(row.pk)
    is_down = direction == Direction.DOWN
    return Launch(
        level=launch_of(lit, direction),
        standard=row.standard,
        citation=cited(row, confirmed),
        measured=known.launches.get(lit.channel_id) if is_down else None,
    )
