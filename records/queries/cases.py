"""A path added up in four ways: best, typical, statistical and worst, side by side."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from records.models import Direction
from records.optics import statistical
from records.optics.bands import middle_nm
from records.optics.classes import ClassDirection, needed_dbm
from records.optics.levels import Level, launch_level
from records.optics.statistical import GRADE_SIGMAS_TO_MOST, SIGMAS_TO_MOST, estimate_of
from records.queries._terms import Step, figures_of, steps_of, total
from records.queries.citations import CitedFigure, figures_at
from records.queries.levels import Lit, loss_of
from records.queries.lit_piece import lit_piece
from records.queries.paths import Path

K = 2.0
"""Sigmas of the statistical case: 97.7 % of paths lose less (records/optics/statistical.py)."""

GRADED = "IEC 61753-1"
"""The source of connector grades, whose most is what 97 % of matings keep."""

Figures = Mapping[int, list[CitedFigure]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One way to add up a path; the margin is against what the receiver needs."""

    name: str
    loss_db: float
    level_dbm: float
    margin_db: float


def cases_at(paths: Iterable[Path]) -> dict[tuple[int, int, str], tuple[Case, ...]]:
    """Return the cases of some paths, by point, channel and direction.

    A few queries a wavelength, however many the paths.
    """
    listed = list(paths)
    plant = lit_piece({path.lit.point_id for path in listed})
    piece = plant.piece()
    entries = {hop.entry_id for path in listed for hop in path.hops if hop.entry_id is not None}
    figures: dict[int, Figures] = {}
    found = {}
    for path in listed:
        for direction in Direction:
            lit = path.lit
            nm = middle_nm(side_of(lit, direction))
            if nm not in figures:
                figures[nm] = figures_at(entries, nm)
            steps = steps_of(path, plant, piece, nm)
            found[lit.point_id, lit.channel_id, direction.value] = cases_of(
                lit, direction, steps, figures[nm]
            )
    return found


def cases_of(
    lit: Lit, direction: str, steps: Sequence[Step], figures: Figures
) -> tuple[Case, ...]:
    """Return the cases of a path by its steps, best first.

    The statistical one starts from the weakest launch, as the worst does.
    """
    launch, loss = launch_of(lit, direction), total(steps)
    enough_dbm = needed_dbm(side_of(lit, direction))
    level, likely_db = launch - loss, min(_statistical_db(steps, figures), loss.most_db)
    return tuple(
        Case(name=name, loss_db=loss_db, level_dbm=level_dbm, margin_db=level_dbm - enough_dbm)
        for name, loss_db, level_dbm in (
            ("best", loss.least_db, level.most_dbm),
            ("typical", loss.typical_db, level.typical_dbm),
            ("statistical", likely_db, launch.least_dbm - likely_db),
            ("worst", loss.most_db, level.least_dbm),
        )
    )


def side_of(lit: Lit, direction: str) -> ClassDirection:
    """Return the figures of a class in one direction."""
    return lit.optical_class.down if direction == Direction.DOWN else lit.optical_class.up


def launch_of(lit: Lit, direction: str) -> Level:
    """Return the launch: down that of the port, up that of any terminal of the class."""
    return lit.launch if direction == Direction.DOWN else launch_level(lit.optical_class.up)


def _statistical_db(steps: Iterable[Step], figures: Figures) -> float:
    parts = (
        estimate_of(
            loss_of(step.loss),
            sigmas_to_most=GRADE_SIGMAS_TO_MOST if _is_graded(step, figures) else SIGMAS_TO_MOST,
        )
        for step in steps
    )
    return statistical.total_estimate(parts).at_db(K)


def _is_graded(step: Step, figures: Figures) -> bool:
    return any(each.citation.source.startswith(GRADED) for each in figures_of(step, figures))
