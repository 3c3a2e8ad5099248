from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.optics.levels import launch_level
from records.optics.losses import Loss
from records.optics.verdicts import (
    Fault,
    margins,
    path_verdicts,
    receiver_verdicts,
    tree_verdicts,
)
from tests.optics.catalogue import classes
from tests.optics.strategies import levels, losses

CLASSES = classes()
B_PLUS = CLASSES["GPON B+"]

every_direction = pytest.mark.parametrize(
    "direction",
    [way for each in CLASSES.values() for way in (each.down, each.up)],
    ids=[f"{name} {way}" for name in CLASSES for way in ("down", "up")],
)


def judged(direction, loss_db):
    """Return the faults of a receiver behind an exact loss, launch by its class."""
    loss = Loss.exactly(loss_db)
    level = launch_level(direction) - loss
    return [each.fault for each in receiver_verdicts(direction, level=level, path_loss=loss)]


@every_direction
def test_the_most_loss_of_a_class_is_borne_and_no_more(direction):
    assert judged(direction, direction.loss_max_db) == []
    assert judged(direction, direction.loss_max_db + 0.01) == [Fault.TOO_WEAK, Fault.OUT_OF_CLASS]


@every_direction
def test_the_least_loss_of_a_class_is_needed(direction):
    assert judged(direction, direction.loss_min_db) == []
    assert Fault.OUT_OF_CLASS in judged(direction, direction.loss_min_db - 0.01)


def test_less_than_the_least_loss_overloads():
    # Source: ITU-T G.984.2 Amd 1 Appendix III, class B+: OLT at most +5, terminal overload -8 dBm
    assert judged(B_PLUS.down, 12.9) == [Fault.TOO_STRONG, Fault.OUT_OF_CLASS]


def test_one_receiver_can_be_too_weak_and_too_strong():
    loss = Loss(least_db=10, typical_db=20, most_db=30)

    level = launch_level(B_PLUS.down) - loss

    verdicts = receiver_verdicts(B_PLUS.down, level=level, path_loss=loss)
    assert [each.words for each in verdicts] == [
        "too weak: -28.50 dBm at worst, 2.00 dB under the -26.50 dBm the receiver needs",
        "too strong: -5.00 dBm at best, 3.00 dB over the receiver's limit of -8.00 dBm",
        "out of class: path loss 30.00 dB, 2.00 dB beyond the class's limit of 28.00 dB",
        "out of class: path loss 10.00 dB, 3.00 dB beyond the class's limit of 13.00 dB",
    ]


@given(levels(), losses())
def test_a_verdict_is_a_margin_below_zero(level, path_loss):
    verdicts = receiver_verdicts(B_PLUS.down, level=level, path_loss=path_loss)

    left = margins(B_PLUS.down, level=level, path_loss=path_loss)
    broken_db = [
        left.above_needed_db,
        left.below_overload_db,
        left.below_loss_max_db,
        left.above_loss_min_db,
    ]
    assert [each.excess for each in verdicts] == pytest.approx(
        [-margin_db for margin_db in broken_db if margin_db < -1e-6]
    )


@pytest.mark.parametrize(
    ("fibre_m", "split", "words"),
    # Source: ITU-T G.984.1, from memory: 20 km of fibre, 1:128 provided for
    [
        (20_000, 128, []),
        (20_001, 128, ["out of reach: 20001 m of fibre, 1 m over the class's reach of 20000 m"]),
        (500, 256, ["split beyond class: divided 256 ways, the class provides for 128 ways"]),
    ],
)
def test_a_path_is_judged_by_reach_and_split(fibre_m, split, words):
    verdicts = path_verdicts(B_PLUS, fibre_m=fibre_m, split=split)

    assert [each.words for each in verdicts] == words


def test_a_path_can_be_too_long_and_divided_too_often():
    verdicts = path_verdicts(B_PLUS, fibre_m=30_000, split=1024)

    assert [each.fault for each in verdicts] == [Fault.OUT_OF_REACH, Fault.SPLIT_BEYOND_CLASS]


@given(st.integers(0, 60_000), st.integers(0, 60_000))
def test_terminals_of_one_pon_may_not_lie_too_far_apart(one_m, other_m):
    # Source: ITU-T G.984.1 clause 10, figure from memory: 20 km differential reach
    nearest_m, furthest_m = sorted((one_m, other_m))

    verdicts = tree_verdicts(B_PLUS, nearest_m=nearest_m, furthest_m=furthest_m)

    too_far = [Fault.DIFFERENTIAL_REACH] if furthest_m - nearest_m > 20_000 else []
    assert [each.fault for each in verdicts] == too_far


def test_a_differential_reach_is_said_in_metres():
    (verdict,) = tree_verdicts(B_PLUS, nearest_m=100, furthest_m=20_150)

    assert verdict.words == (
        "differential reach: 20050 m more fibre than to the nearest home, the class allows 20000 m"
    )


def test_a_class_without_limits_allows_any_path():
    free = replace(B_PLUS, reach_m=None, differential_reach_m=None, split_max=None)

    assert path_verdicts(free, fibre_m=1e6, split=10_000) == ()
    assert tree_verdicts(free, nearest_m=0, furthest_m=1e6) == ()
