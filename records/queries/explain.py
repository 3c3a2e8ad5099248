"""Explain a level term by term: where each figure comes from, and what the sums are.

A level is the launch less the losses on the way. Each term is worked out here from the catalogue's
figures and the measured values, not taken from what is stored; the sum is the stored level to the
last digit.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from records.models import ClassDirection, Direction
from records.optics import statistical
from records.optics.bands import middle_nm
from records.optics.classes import needed_dbm
from records.optics.levels import Level, launch_level
from records.optics.losses import Loss
from records.optics.statistical import GRADE_SIGMAS_TO_MOST, SIGMAS_TO_MOST, estimate_of
from records.queries._terms import Term, known_of, steps_of, terms_of, total
from records.queries.citations import Citation, cited, confirmations
from records.queries.levels import Lit
from records.queries.lit_piece import lit_piece
from records.queries.measurements import Measured, Measurement
from records.queries.paths import Path, paths

__all__ = ["Case", "Explanation", "Launch", "Term", "explain", "explain_path"]

K = 2.0
"""Sigmas of the statistical case: 97.7 % of paths lose less (records/optics/statistical.py)."""

GRADED = "IEC 61753-1"
"""The source of connector grades, whose most is what 97 % of matings keep."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Launch:
    """Where light starts: the level, the class's row for it, and who measured it if anyone did."""

    level: Level
    standard: str
    citation: Citation
    measured: Measurement | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One way to add up the same path; the margin is against what the receiver needs."""

    name: str
    loss_db: float
    level_dbm: float
    margin_db: float


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
    side = lit.optical_class.down if is_down else lit.optical_class.up
    wavelength_nm = middle_nm(side)
    steps = steps_of(path, lit_piece([lit.point_id]), wavelength_nm)
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
        cases=tuple(_cases(terms, launch.level, loss, needed_dbm(side))),
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
        level=lit.launch if is_down else launch_level(lit.optical_class.up),
        standard=row.standard,
        citation=cited(row, confirmed),
        measured=known.launches.get(lit.channel_id) if is_down else None,
    )


def _cases(
    terms: tuple[Term, ...], launch: Level, loss: Loss, enough_dbm: float
) -> Iterator[Case]:
    level = launch - loss
    likely_db = min(_statistical_db(terms), loss.most_db)
    for name, loss_db, level_dbm in (
        ("best", loss.least_db, level.most_dbm),
        ("typical", loss.typical_db, level.typical_dbm),
        ("statistical", likely_db, launch.least_dbm - likely_db),
        ("worst", loss.most_db, level.least_dbm),
    ):
        yield Case(
            name=name, loss_db=loss_db, level_dbm=level_dbm, margin_db=level_dbm - enough_dbm
        )


def _statistical_db(terms: tuple[Term, ...]) -> float:
    parts = (
        estimate_of(
            term.loss,
            sigmas_to_most=GRADE_SIGMAS_TO_MOST if _is_graded(term) else SIGMAS_TO_MOST,
        )
        for term in terms
    )
    return statistical.total_estimate(parts).at_db(K)


def _is_graded(term: Term) -> bool:
    return any(figure.citation.source.startswith(GRADED) for figure in term.figures)
