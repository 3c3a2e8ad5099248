"""Cut a tree into the stretches that its readings tell apart.

A step is what light comes through on its way to the next point: a joint, a fibre, a splitter. Two
steps with the same readings below them can't be told apart by any of those readings; together
they are one stretch, and a fault is in a stretch, not in a step.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

from records.light.weighing import Stretch


class Step(NamedTuple):
    """One step of a tree; its number is its place in the sequence.

    `above` is the number of the step before it, always lower, None for the launch. `spread_db` is
    the standard deviation of its loss around the typical one. `sheath` is the cable of a fibre.
    """

    above: int | None
    kind: str
    spread_db: float
    sheath: int | None = None


class Stretches(NamedTuple):
    """The stretches, those above first, and which of them ends at each step that was read."""

    stretches: list[Stretch]
    ends_at: dict[int, int]

    def is_below(self, step: int, within: Collection[int]) -> bool:
        """Tell whether what was read at the end of a step hangs from any of some stretches."""
        at: int | None = self.ends_at[step]
        while at is not None and at not in within:
            at = self.stretches[at].above
        return at is not None


def cut(steps: Sequence[Step], read_at: Iterable[int]) -> Stretches:
    """Return the stretches of a tree that was read at the lower ends of some steps."""
    read = set(read_at)
    ways = _ways_on(steps, read)
    ends = sorted(step for step in ways if step in read or ways[step] > 1)
    ends_at = {step: number for number, step in enumerate(ends)}
    return Stretches([_stretch(steps, end, ends_at) for end in ends], ends_at)


def _ways_on(steps: Sequence[Step], read: Iterable[int]) -> Counter[int]:
    """Return the steps on the way to what was read, with the number of ways on from each."""
    ways: Counter[int] = Counter()
    for step in read:
        at: int | None = step
        while at is not None and at not in ways:
            ways[at] = 0
            at = steps[at].above
    for step in list(ways):
        above = steps[step].above
        if above is not None:
            ways[above] += 1
    return ways


def _stretch(steps: Sequence[Step], end: int, ends_at: dict[int, int]) -> Stretch:
    way = [end]
    above = steps[end].above
    while above is not None and above not in ends_at:
        way.append(above)
        above = steps[above].above
    variance_db2 = sum(steps[step].spread_db ** 2 for step in way)
    return Stretch(None if above is None else ends_at[above], tuple(reversed(way)), variance_db2)
