import pytest
from hypothesis import given

from records.optics.levels import Level, launch_level
from tests.optics.catalogue import classes
from tests.optics.strategies import levels, losses


@given(levels(), losses())
def test_extremes_meet_extremes(level, loss):
    received = level - loss

    assert received.least_dbm == level.least_dbm - loss.most_db
    assert received.typical_dbm == level.typical_dbm - loss.typical_db
    assert received.most_dbm == level.most_dbm - loss.least_db


@given(levels(), losses(), losses())
def test_two_losses_in_a_row_are_their_sum(level, first, second):
    step_by_step = level - first - second

    at_once = level - (first + second)
    assert step_by_step.least_dbm == pytest.approx(at_once.least_dbm)
    assert step_by_step.typical_dbm == pytest.approx(at_once.typical_dbm)
    assert step_by_step.most_dbm == pytest.approx(at_once.most_dbm)


def test_a_class_launches_between_its_limits():
    # Source: ITU-T G.984.2 Amd 1 Appendix III, class B+: OLT +1.5 to +5, terminal +0.5 to +5 dBm
    b_plus = classes()["GPON B+"]

    assert launch_level(b_plus.down) == Level(least_dbm=1.5, typical_dbm=3.25, most_dbm=5)
    assert launch_level(b_plus.up) == Level(least_dbm=0.5, typical_dbm=2.75, most_dbm=5)


@pytest.mark.parametrize("levels_dbm", [(-20, -21, -19), (-20, -19, float("nan"))])
def test_an_impossible_level_is_refused(levels_dbm):
    least, typical, most = levels_dbm

    with pytest.raises(ValueError, match=r"dBm is nan|dBm; give them in rising order"):
        Level(least_dbm=least, typical_dbm=typical, most_dbm=most)
