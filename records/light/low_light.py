"""Rank the extra losses that may explain a tree's low readings.

Every stretch is a candidate twice: for one of its joints, which lose the same at all wavelengths,
and for one of its fibres, which when bent lose more at the longer. A cable with several fibres in
the tree is a candidate as a whole. How likely an element fails at all is weighed with how much
better the readings fit (weighing.py). A fault put too high would lower homes that read well, one
put too low leaves low homes unexplained; both cost, so the deepest stretch that explains the low
homes comes first.
"""

from collections.abc import Iterator, Mapping, Sequence
from statistics import fmean, median
from typing import NamedTuple

from records.light.faults import FAULTS_OF, AtWavelength, Candidate, Kind, Observed, likeliest
from records.light.faults import suspects as suspects_among
from records.light.stretches import Step, Stretches, cut
from records.light.weighing import Evidence, Sight, weigh_each, weigh_together
from records.optics.bends import bend_growth

USUAL_EXTRA_DB = 4.0  # Source: common practice; from a smeared plug to a tight bend
A_SHEATH = 1.0  # a whole cable, bent or pinched, against FAULTS_OF; common practice
EVENLY = 0.5  # a fibre of such a cable, taken or spared

Readings = Mapping[int, Observed]
"""Readings by their number."""


class _Idea(NamedTuple):
    """A fault that may be: in which stretches, of which steps, how often, and what speaks for it.

    `outside_db` is what readings that it does not lower miss.
    """

    kind: Kind
    within: frozenset[int]
    suspects: tuple[int, ...]
    weight: float
    evidence: Evidence
    outside_db: float

    @property
    def log_odds(self) -> float:
        return self.evidence.log_odds(USUAL_EXTRA_DB)


def rank_low(steps: Sequence[Step], readings: Readings) -> list[Candidate]:
    """Return the extra losses that may explain these readings, likeliest first."""
    lit = {number: each for number, each in readings.items() if each.missing_db is not None}
    if not lit:
        return []
    tree = cut(steps, (each.step for each in lit.values()))
    return [
        _candidate(idea, chance, tree, lit) for chance, idea in likeliest(_ideas(steps, tree, lit))
    ]


def share_of(kind: Kind, wavelength_nm: int, longest_nm: int) -> float:
    """Return how much of an extra loss at the longest wavelength a reading at another sees."""
    return bend_growth(wavelength_nm, against_nm=longest_nm) if kind == Kind.FIBRE else 1.0


def longest_nm(readings: Readings) -> int:
    """Return the longest wavelength among readings of light."""
    return max(each.wavelength_nm for each in readings.values() if each.missing_db is not None)


def _ideas(steps: Sequence[Step], tree: Stretches, lit: Readings) -> Iterator[_Idea]:
    for kind in (Kind.STEP, Kind.FIBRE):
        weighed = weigh_each(tree.stretches, _sights(kind, tree, lit))
        for number, evidence in enumerate(weighed):
            of_stretch = [
                step
                for step in tree.stretches[number].steps
                if (steps[step].kind == "fibre") == (kind == Kind.FIBRE)
            ]
            able = suspects_among(steps, of_stretch)
            weight = sum(FAULTS_OF[steps[step].kind] for step in able)
            if weight:
                within = frozenset({number})
                yield _Idea(kind, within, able, weight, evidence, evidence.outside_db)
        if kind == Kind.FIBRE:
            yield from _sheaths(steps, tree, lit, weighed)


def _sights(kind: Kind, tree: Stretches, lit: Readings) -> list[Sight]:
    longest = longest_nm(lit)
    return [
        Sight(
            tree.ends_at[each.step],
            each.missing_db or 0.0,
            each.sigma_db**2,
            share_of(kind, each.wavelength_nm, longest),
        )
        for each in lit.values()
    ]


def _sheaths(
    steps: Sequence[Step], tree: Stretches, lit: Readings, weighed: Sequence[Evidence]
) -> Iterator[_Idea]:
    """Return each cable of which several fibres seem to lose alike, as a candidate on its own.

    A bend or a pinch may take some of a cable's fibres and spare others; each is taken or spared
    alike often (common practice), and that much the choice among them costs.
    """
    for runs in _runs_by_sheath(steps, tree).values():
        hit = [(at, step) for at, step in runs if weighed[at].log_odds(USUAL_EXTRA_DB) > 0]
        within = frozenset(at for at, _ in hit)
        if len(within) > 1:
            evidence = weigh_together(tree.stretches, _sights(Kind.FIBRE, tree, lit), within)
            beside = [each.missing_db or 0.0 for each in _outside(tree, lit, within).values()]
            yield _Idea(
                Kind.FIBRE,
                within,
                tuple(step for _, step in hit),
                A_SHEATH * EVENLY ** len(runs),
                evidence,
                median(beside) if beside else 0.0,
            )


def _runs_by_sheath(steps: Sequence[Step], tree: Stretches) -> dict[int, list[tuple[int, int]]]:
    """Return the stretches that each cable has a fibre in, with the fibre's step."""
    runs: dict[int, list[tuple[int, int]]] = {}
    for number, stretch in enumerate(tree.stretches):
        for step in stretch.steps:
            sheath = steps[step].sheath
            if sheath is not None:
                runs.setdefault(sheath, []).append((number, step))
    return runs


def _candidate(idea: _Idea, chance: float, tree: Stretches, lit: Readings) -> Candidate:
    longest = longest_nm(lit)
    extra_db = idea.evidence.extra_db

    def is_lowered(each: Observed) -> bool:
        share = share_of(idea.kind, each.wavelength_nm, longest)
        return (each.missing_db or 0.0) - idea.outside_db > extra_db * share / 2

    below = {n: each for n, each in lit.items() if tree.is_below(each.step, idea.within)}
    beside = {n: each for n, each in lit.items() if n not in below}
    near = frozenset(
        above for number in idea.within if (above := tree.stretches[number].above) is not None
    )
    return Candidate(
        kind=idea.kind,
        suspects=idea.suspects,
        chance=chance,
        extra_db=extra_db,
        extra_sigma_db=idea.evidence.extra_sigma_db,
        says_so=tuple(n for n, each in below.items() if is_lowered(each)),
        contradicts=tuple(n for n, each in below.items() if not is_lowered(each)),
        clears=tuple(
            n
            for n, each in beside.items()
            if not is_lowered(each) and tree.is_below(each.step, near)
        ),
        unexplained=tuple(n for n, each in beside.items() if each.is_low),
        by_wavelength=_by_wavelength(below, idea.outside_db),
    )


def _outside(tree: Stretches, lit: Readings, within: frozenset[int]) -> Readings:
    return {n: each for n, each in lit.items() if not tree.is_below(each.step, within)}


def _by_wavelength(below: Readings, outside_db: float) -> tuple[AtWavelength, ...]:
    at: dict[int, list[float]] = {}
    for each in below.values():
        at.setdefault(each.wavelength_nm, []).append((each.missing_db or 0.0) - outside_db)
    return tuple(AtWavelength(nm, fmean(found)) for nm, found in sorted(at.items()))
