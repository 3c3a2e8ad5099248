import pytest
from hypothesis import given

from records.optics.decibels import (
    db_from_ratio,
    dbm_from_mw,
    mw_from_dbm,
    ratio_from_db,
    together_dbm,
)
from tests.optics.strategies import levels_dbm, tenths_db

NOT_NUMBERS = [float("nan"), float("inf"), float("-inf")]


@given(levels_dbm)
def test_a_level_survives_the_way_to_milliwatts_and_back(level_dbm):
    assert dbm_from_mw(mw_from_dbm(level_dbm)) == pytest.approx(level_dbm, abs=1e-9)


@given(tenths_db)
def test_a_loss_survives_the_way_to_a_ratio_and_back(loss_db):
    assert db_from_ratio(ratio_from_db(loss_db)) == pytest.approx(loss_db, abs=1e-9)


@given(levels_dbm)
def test_two_equal_lights_together_are_three_decibels_more(level_dbm):
    # 10·log10 2 = 3.0103, the ideal loss of a 1:2 splitter the other way round
    assert together_dbm([level_dbm, level_dbm]) == pytest.approx(level_dbm + 3.0103, abs=1e-5)


@pytest.mark.parametrize(
    ("levels_dbm", "sum_dbm"),
    # Computed in mW by hand for ports that carry two technologies and a video overlay.
    [([7, 7], 10.0), ([9, 7], 11.1), ([10, 11], 13.5), ([7, 7, 21], 21.3)],
)
def test_powers_of_several_lights_add_as_milliwatts(levels_dbm, sum_dbm):
    assert round(together_dbm(levels_dbm), 1) == sum_dbm


@pytest.mark.parametrize("value", NOT_NUMBERS)
@pytest.mark.parametrize("convert", [mw_from_dbm, dbm_from_mw, db_from_ratio, ratio_from_db])
def test_what_is_not_a_number_is_refused(convert, value):
    with pytest.raises(ValueError, match=r"is (nan|-?inf)"):
        convert(value)


@pytest.mark.parametrize("power_mw", [0, -1])
def test_no_power_has_no_level(power_mw):
    with pytest.raises(ValueError, match=r"power_mw is .* above zero"):
        dbm_from_mw(power_mw)


@pytest.mark.parametrize("ratio", [0, 1.01, -0.5])
def test_a_passive_part_neither_blocks_all_nor_amplifies(ratio):
    with pytest.raises(ValueError, match="passive part"):
        db_from_ratio(ratio)
