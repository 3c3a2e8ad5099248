"""Judge a reading against the level that the record expects.

A reading is as expected if it lies within the expected least and most, widened by what the
instrument may be off. Source: common practice; no standard rates a reading.
"""

from dataclasses import dataclass
from enum import StrEnum

from records.optics.decibels import SAME_DB, finite
from records.optics.levels import Level

# What an instrument may be off, in dB either way.
METER_OFF_DB = 0.5  # Source: field power meters state 0.2 to 0.5 dB (from memory)
REMATING_OFF_DB = 0.2  # Source: unplugging and mating again (common practice)
TERMINAL_REPORT_OFF_DB = 3.0  # Source: ITU-T G.984.2, G.9807.1 supervision (a manual agrees)
OLT_REPORT_OFF_DB = 2.0  # Source: ITU-T G.984.2, G.9807.1 supervision (from memory)

# What can be read at all. Source: common practice; PON meters show light down to about -50 dBm,
# and nothing on a PON, a video overlay included, comes near a watt.
DARK_DBM = -50.0
READING_MIN_DBM = -70.0  # Source: the least that a field meter shows (common practice)
READING_MAX_DBM = 30.0

# The most that can come down to a home. Source: ITU-T G.984.2, G.9807.1: the overload of every
# terminal's receiver lies below it.
HOME_MAX_DBM = 0.0


class Outcome(StrEnum):
    """What a reading says about the light at its point."""

    AS_EXPECTED = "as expected"
    LOW = "low"
    HIGH = "high"
    NO_LIGHT = "no light"
    UNEXPECTED = "unexpected"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingVerdict:
    """What a reading says, and by how much it differs from the typical level expected.

    The difference is positive for more light than expected; None if there is nothing to compare.
    """

    outcome: Outcome
    difference_db: float | None


def judge_reading(
    *, reading_dbm: float | None, expected: Level | None, uncertainty_db: float
) -> ReadingVerdict:
    """Judge a reading; None is dark, as a reading and as what the record expects.

    Dark where dark is expected, such as on an unlit standby feeder, is as expected; light there
    is unexpected, for there is no level that it could be higher than.

    Raises: ValueError for a reading above READING_MAX_DBM, an uncertainty below zero, or NaN.

    >>> expected = Level(least_dbm=-21.0, typical_dbm=-20.0, most_dbm=-19.5)
    >>> judge_reading(reading_dbm=-23.0, expected=expected, uncertainty_db=0.5)
    ReadingVerdict(outcome=<Outcome.LOW: 'low'>, difference_db=-3.0)
    """
    if finite(uncertainty_db, "uncertainty_db") < 0:
        raise ValueError(f"uncertainty_db is {uncertainty_db}; give 0 or more")
    light_dbm = _light(reading_dbm)
    if light_dbm is None:
        outcome = Outcome.AS_EXPECTED if expected is None else Outcome.NO_LIGHT
        return ReadingVerdict(outcome=outcome, difference_db=None)
    if expected is None:
        return ReadingVerdict(outcome=Outcome.UNEXPECTED, difference_db=None)
    return ReadingVerdict(
        outcome=_compare(light_dbm, expected, uncertainty_db + SAME_DB),
        difference_db=light_dbm - expected.typical_dbm,
    )


def why_impossible(level_dbm: float, *, is_in_a_home: bool) -> str:
    """Return why no meter can have shown a level, with a full stop; empty where one can.

    `is_in_a_home` is for what comes down to a port of an outlet or home terminal: there a
    forgotten minus sign shows, which elsewhere could be the launch of an OLT.

    >>> why_impossible(16.7, is_in_a_home=True)
    '16.7 dBm is above what any home terminal bears; is a minus sign missing?'
    """
    if is_in_a_home and level_dbm > HOME_MAX_DBM:
        return f"{level_dbm:g} dBm is above what any home terminal bears; is a minus sign missing?"
    if level_dbm > READING_MAX_DBM:
        return f"{level_dbm:g} dBm is above what a PON carries; is a minus sign missing?"
    if level_dbm < READING_MIN_DBM:
        return f"{level_dbm:g} dBm is below what a meter shows."
    return ""


def possible_dbm(*, is_in_a_home: bool) -> tuple[float, float]:
    """Return the least and the most that a meter can show."""
    return READING_MIN_DBM, HOME_MAX_DBM if is_in_a_home else READING_MAX_DBM


def _light(reading_dbm: float | None) -> float | None:
    """Return the level read, or None for dark."""
    if reading_dbm is None or finite(reading_dbm, "reading_dbm") <= DARK_DBM:
        return None
    if reading_dbm > READING_MAX_DBM:
        raise ValueError(
            f"reading_dbm is {reading_dbm}; a PON carries at most {READING_MAX_DBM:g} dBm. "
            "Is the minus sign missing?"
        )
    return reading_dbm


def _compare(level_dbm: float, expected: Level, off_db: float) -> Outcome:
    if level_dbm < expected.least_dbm - off_db:
        return Outcome.LOW
    if level_dbm > expected.most_dbm + off_db:
        return Outcome.HIGH
    return Outcome.AS_EXPECTED
