"""Rank the breaks that may explain a tree's dark readings.

A break darkens all below it and nothing else. A dark home elsewhere has then a cause of its own,
such as an unplugged terminal, and a lit one below a stale or mistaken reading; both are rare.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from math import log
from typing import NamedTuple

from records.light.faults import FAULTS_OF, Candidate, Kind, likeliest, suspects
from records.light.low_light import Readings
from records.light.stretches import Step, Stretches, cut

STRAY = 0.02
"""The chance of a dark reading with a cause of its own, and of a lit one that is mistaken.

Source: common practice.
"""


class _Break(NamedTuple):
    stretch: int
    suspects: tuple[int, ...]
    weight: float
    log_odds: float
    kind: Kind = Kind.DEAD


def rank_dead(steps: Sequence[Step], readings: Readings) -> list[Candidate]:
    """Return the breaks that may explain these readings, likeliest first; none if all are lit."""
    if all(each.missing_db is not None for each in readings.values()):
        return []
    tree = cut(steps, (each.step for each in readings.values()))
    return [
        _candidate(idea, chance, tree, readings)
        for chance, idea in likeliest(_breaks(steps, tree, readings))
    ]


def _breaks(steps: Sequence[Step], tree: Stretches, readings: Readings) -> Iterator[_Break]:
    dark, lit = Counter[int](), Counter[int]()
    for each in readings.values():
        (dark if each.missing_db is None else lit)[tree.ends_at[each.step]] += 1
    for number in reversed(range(len(tree.stretches))):
        above = tree.stretches[number].above
        if above is not None:
            dark[above] += dark[number]
            lit[above] += lit[number]
    for number, stretch in enumerate(tree.stretches):
        able = suspects(steps, stretch.steps)
        if dark[number] and able:
            weight = sum(FAULTS_OF[steps[step].kind] for step in able)
            yield _Break(number, able, weight, (lit[number] - dark[number]) * log(STRAY))


def _candidate(idea: _Break, chance: float, tree: Stretches, readings: Readings) -> Candidate:
    within = frozenset({idea.stretch})
    above = tree.stretches[idea.stretch].above
    near = frozenset() if above is None else frozenset({above})
    below = {n for n, each in readings.items() if tree.is_below(each.step, within)}
    dark = {n for n, each in readings.items() if each.missing_db is None}
    beside = {n for n, each in readings.items() if tree.is_below(each.step, near)}
    return Candidate(
        kind=Kind.DEAD,
        suspects=idea.suspects,
        chance=chance,
        extra_db=None,
        extra_sigma_db=None,
        says_so=tuple(sorted(below & dark)),
        contradicts=tuple(sorted(below - dark)),
        clears=tuple(sorted(beside - below - dark)),
        unexplained=tuple(sorted(dark - below)),
        by_wavelength=(),
    )
