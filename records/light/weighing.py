"""Weigh what readings on a tree say about one more loss in it.

Each step of a tree may cost a little more or less than its typical loss, by chance; a reading sees
the sum of all steps above it, and the meter adds its own error. Both are taken as normal. Had one
stretch of the tree an extra loss on top, all readings below would be lower together. For every
stretch this module finds the extra loss that fits best and how much better all readings are
explained with it than without.

Readings that share steps err together, which plain averages would ignore. So messages are passed
along the tree, up and down, each a normal in information form: exact, and one visit a stretch.
Source: sum-product on a tree of normals (J. Pearl, Probabilistic Reasoning in Intelligent Systems,
1988, chapter 7); tests/light/test_weighing.py solves the same by dense matrices with numpy.
"""

from collections.abc import Iterable, Sequence
from math import erfc, log, log1p, sqrt
from typing import NamedTuple

LEAST_VARIANCE_DB2 = 1e-6
"""Nothing is known better than to a thousandth of a dB."""


class Stretch(NamedTuple):
    """Steps of a tree that no reading tells apart, from the top down.

    `above` is the stretch it hangs from, None at the top. The variance is that of its steps
    together.
    """

    above: int | None
    steps: tuple[int, ...]
    variance_db2: float


class Sight(NamedTuple):
    """A reading as it is weighed: below which stretch, what it misses, how sure it is.

    `share` is the part of an extra loss above it that it would see: 1 unless the loss depends on
    the wavelength.
    """

    stretch: int
    missing_db: float
    variance_db2: float
    share: float = 1.0


class Evidence(NamedTuple):
    """What all readings say about an extra loss in one place.

    With an extra loss of x dB the readings are more likely by exp(pull·x - x²·hold/2).
    `outside_db` is what the rest of the tree reads too low by just above the place.
    """

    pull: float
    hold: float
    outside_db: float

    @property
    def extra_db(self) -> float:
        """Return the extra loss that fits best, never below zero."""
        return max(0.0, self.pull / self.hold) if self.hold > 0 else 0.0

    @property
    def extra_sigma_db(self) -> float:
        """Return how sure the extra loss is, as one standard deviation."""
        return 1 / sqrt(self.hold) if self.hold > 0 else float("inf")

    def log_odds(self, usual_db: float) -> float:
        """Return by how much an extra loss explains the readings better than none (natural log).

        All sizes are weighed, small ones more than large: a half normal of `usual_db`. So a loss
        too small to matter, or of which readings say little, gains nothing.
        """
        hold = self.hold + 1 / usual_db**2
        reach = self.pull / sqrt(hold)
        chance = max(erfc(-reach / sqrt(2)) / 2, 1e-300)
        shrinking = log1p(usual_db**2 * self.hold) / 2
        return log(2) - shrinking + reach * reach / 2 + log(chance)


class _Message(NamedTuple):
    """What some readings say of the sum of losses at a node, as functions of missing and share."""

    weight: float = 0.0
    missing: float = 0.0
    share: float = 0.0
    missing_share: float = 0.0
    share_share: float = 0.0

    def plus(self, other: "_Message") -> "_Message":
        return _Message(
            self.weight + other.weight,
            self.missing + other.missing,
            self.share + other.share,
            self.missing_share + other.missing_share,
            self.share_share + other.share_share,
        )

    def through(self, variance_db2: float) -> "_Message":
        """Return the same as seen from the other end of a stretch."""
        kept = 1 / (1 + variance_db2 * self.weight)
        lost = variance_db2 * kept
        return _Message(
            self.weight * kept,
            self.missing * kept,
            self.share * kept,
            self.missing_share - lost * self.missing * self.share,
            self.share_share - lost * self.share * self.share,
        )


def weigh_each(stretches: Sequence[Stretch], sights: Iterable[Sight]) -> list[Evidence]:
    """Return the evidence for an extra loss in each stretch, as if it were the only one."""
    at_node, upward = _upward(stretches, sights)
    evidence: list[Evidence] = []
    from_above: list[_Message] = []
    for number, stretch in enumerate(stretches):
        if stretch.above is None:
            outside = _Message(1 / LEAST_VARIANCE_DB2)
        else:
            beside = _without(at_node[stretch.above], upward[number])
            outside = from_above[stretch.above].plus(beside)
        from_above.append(_Message(outside.weight, outside.missing).through(stretch.variance_db2))
        evidence.append(_meet(upward[number], outside))
    return evidence


def weigh_together(
    stretches: Sequence[Stretch], sights: Iterable[Sight], within: Iterable[int]
) -> Evidence:
    """Return the evidence for one extra loss that several stretches have alike."""
    inside = _all_below(stretches, set(within))
    seen = [each if each.stretch in inside else each._replace(share=0.0) for each in sights]
    _, upward = _upward(stretches, seen)
    tops = [number for number, stretch in enumerate(stretches) if stretch.above is None]
    whole = _Message()
    for top in tops:
        whole = whole.plus(upward[top])
    return _meet(whole, _Message(1 / LEAST_VARIANCE_DB2))


def _upward(
    stretches: Sequence[Stretch], sights: Iterable[Sight]
) -> tuple[list[_Message], list[_Message]]:
    """Return what is said at the lower end of each stretch from below, and at its upper end."""
    at_node = [_Message()] * len(stretches)
    for each in sights:
        at_node[each.stretch] = at_node[each.stretch].plus(_of(each))
    upward = [_Message()] * len(stretches)
    for number in reversed(range(len(stretches))):
        stretch = stretches[number]
        upward[number] = at_node[number].through(stretch.variance_db2)
        if stretch.above is not None:
            at_node[stretch.above] = at_node[stretch.above].plus(upward[number])
    return at_node, upward


def _of(sight: Sight) -> _Message:
    weight = 1 / max(sight.variance_db2, LEAST_VARIANCE_DB2)
    return _Message(
        weight,
        weight * sight.missing_db,
        weight * sight.share,
        weight * sight.missing_db * sight.share,
        weight * sight.share * sight.share,
    )


def _without(all_said: _Message, one: _Message) -> _Message:
    return _Message(max(0.0, all_said.weight - one.weight), all_said.missing - one.missing)


def _meet(below: _Message, outside: _Message) -> Evidence:
    """Weigh what is said from below a place against what all others say just above it."""
    both = outside.weight + below.weight
    told = (outside.missing + below.missing) / both
    return Evidence(
        pull=below.missing_share - below.share * told,
        hold=below.share_share - below.share * below.share / both,
        outside_db=outside.missing / outside.weight if outside.weight > 0 else 0.0,
    )


def _all_below(stretches: Sequence[Stretch], within: set[int]) -> set[int]:
    inside = set(within)
    for number, stretch in enumerate(stretches):
        if stretch.above in inside:
            inside.add(number)
    return inside
