import pytest
from hypothesis import given

from records.optics.levels import Level
from records.optics.readings import (
    METER_OFF_DB,
    REMATING_OFF_DB,
    TERMINAL_REPORT_OFF_DB,
    Outcome,
    judge_reading,
)
from tests.optics.strategies import levels, levels_dbm, tenths_db

EXPECTED = Level(least_dbm=-21.0, typical_dbm=-20.0, most_dbm=-19.5)


@pytest.mark.parametrize(
    ("reading_dbm", "outcome"),
    # Limits are -21.5 and -19.0 dBm: the expected range, widened by the meter's 0.5 dB.
    [
        (-21.51, Outcome.LOW),
        (-21.5, Outcome.AS_EXPECTED),
        (-20.0, Outcome.AS_EXPECTED),
        (-19.0, Outcome.AS_EXPECTED),
        (-18.99, Outcome.HIGH),
        (None, Outcome.NO_LIGHT),
        (-50.0, Outcome.NO_LIGHT),
    ],
)
def test_a_reading_is_judged_within_what_its_meter_may_be_off(reading_dbm, outcome):
    verdict = judge_reading(
        reading_dbm=reading_dbm, expected=EXPECTED, uncertainty_db=METER_OFF_DB
    )

    assert verdict.outcome is outcome


@given(levels_dbm, levels(), tenths_db)
def test_a_less_certain_instrument_never_finds_more_fault(reading_dbm, expected, off_db):
    sharp = judge_reading(reading_dbm=reading_dbm, expected=expected, uncertainty_db=0)

    blunt = judge_reading(reading_dbm=reading_dbm, expected=expected, uncertainty_db=off_db)

    assert blunt.outcome in {sharp.outcome, Outcome.AS_EXPECTED}
    assert blunt.difference_db == sharp.difference_db


def test_a_terminal_that_reports_two_decibels_less_is_no_fault():
    # Source: supervision appendix of ITU-T G.984.2 as a manual restates it: 3 dB either way
    by_report = judge_reading(
        reading_dbm=-23.0, expected=EXPECTED, uncertainty_db=TERMINAL_REPORT_OFF_DB
    )
    by_meter = judge_reading(
        reading_dbm=-23.0, expected=EXPECTED, uncertainty_db=METER_OFF_DB + REMATING_OFF_DB
    )

    assert by_report.outcome is Outcome.AS_EXPECTED
    assert by_meter.outcome is Outcome.LOW
    assert by_meter.difference_db == pytest.approx(-3.0)


@pytest.mark.parametrize(
    ("reading_dbm", "outcome"), [(None, Outcome.AS_EXPECTED), (-20.0, Outcome.UNEXPECTED)]
)
def test_an_unlit_feeder_should_read_nothing(reading_dbm, outcome):
    verdict = judge_reading(reading_dbm=reading_dbm, expected=None, uncertainty_db=0.5)

    assert verdict.outcome is outcome
    assert verdict.difference_db is None


@pytest.mark.parametrize(
    ("reading_dbm", "off_db", "words"),
    [
        (40.0, 0.5, "reading_dbm is 40.0; .* minus sign missing"),
        (float("nan"), 0.5, "reading_dbm is nan"),
        (-20.0, -0.5, "uncertainty_db is -0.5"),
        (-20.0, float("inf"), "uncertainty_db is inf"),
    ],
)
def test_an_impossible_reading_is_refused(reading_dbm, off_db, words):
    with pytest.raises(ValueError, match=words):
        judge_reading(reading_dbm=reading_dbm, expected=EXPECTED, uncertainty_db=off_db)
