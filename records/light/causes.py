"""Find the element whose fault explains what a tree's readings say.

Two questions, answered apart: which extra loss explains the low readings (low_light.py), and which
break explains the dark ones (dead_legs.py). Where the likeliest fault leaves readings unexplained,
it is taken as found and the question asked again, so that two faults in one tree both come out.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from records.light.dead_legs import rank_dead
from records.light.faults import Candidate, Kind, Observed
from records.light.low_light import Readings, longest_nm, rank_low, share_of
from records.light.stretches import Step

LIKELY = 0.5
FURTHER = 4
"""Causes looked for beside the likeliest one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Causes:
    """The candidates of each kind, likeliest first; `further` are causes beside the likeliest.

    The chances of `steps` and `fibres` answer one question, those of `dead` another; what is
    missing to 1 is the chance that nothing is wrong.
    """

    steps: tuple[Candidate, ...]
    fibres: tuple[Candidate, ...]
    dead: tuple[Candidate, ...]
    further: tuple[Candidate, ...]

    @property
    def likeliest(self) -> tuple[Candidate, ...]:
        """Return the candidates for an extra loss, of both kinds, likeliest first."""
        return tuple(sorted((*self.steps, *self.fibres), key=lambda each: -each.chance))


def find_causes(
    steps: Sequence[Step], readings: Sequence[Observed], *, beside: Sequence[Observed] = ()
) -> Causes:
    """Return what may explain the readings of a tree, each candidate with its evidence.

    Those `beside` are of light from elsewhere through the same glass, numbered after the others.
    They tell of losses; of a break only the tree's own light can tell.
    """
    numbered = dict(enumerate((*readings, *beside)))
    own = dict(enumerate(readings))
    low, dead = rank_low(steps, numbered), rank_dead(steps, own)
    return Causes(
        steps=tuple(each for each in low if each.kind == Kind.STEP),
        fibres=tuple(each for each in low if each.kind == Kind.FIBRE),
        dead=tuple(dead),
        further=(
            *_further(steps, numbered, low, rank_low),
            *_further(steps, own, dead, rank_dead),
        ),
    )


def _further(
    steps: Sequence[Step],
    readings: Readings,
    ranked: list[Candidate],
    rank: Callable[[Sequence[Step], Readings], list[Candidate]],
) -> Iterator[Candidate]:
    """Take the likeliest as found, and ask again for what it leaves unexplained."""
    for _ in range(FURTHER):
        if not ranked or ranked[0].chance < LIKELY or not ranked[0].unexplained:
            return
        readings = _as_found(readings, ranked[0])
        ranked = rank(steps, readings)
        if ranked and ranked[0].chance >= LIKELY:
            yield ranked[0]


def _as_found(readings: Readings, found: Candidate) -> Readings:
    """Return the readings as they would be without this fault."""
    if found.extra_db is None:
        return {n: each for n, each in readings.items() if n not in found.says_so}
    longest = longest_nm(readings)
    return {
        n: _without(each, found, longest) if n in (*found.says_so, *found.contradicts) else each
        for n, each in readings.items()
    }


def _without(each: Observed, found: Candidate, longest: int) -> Observed:
    if each.missing_db is None:
        return each
    extra_db = (found.extra_db or 0.0) * share_of(found.kind, each.wavelength_nm, longest)
    return each._replace(missing_db=each.missing_db - extra_db, is_low=False)
