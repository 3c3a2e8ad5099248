"""Convert between decibels and what they stand for.

A level in dBm is a power against one milliwatt; a loss in dB is a ratio of powers. Levels can't
be added: two equal ones together are 3 dB more, not twice the number.

Source: the units are those of IEC 60027-3, 10·log10 of a ratio of powers.
"""

from collections.abc import Iterable
from math import fsum, isfinite, log10

# Far finer than any meter, far coarser than the rounding of a sum: a limit counts as met when it
# is missed by less than this.
SAME_DB = 1e-6


def finite(value: float, name: str) -> float:
    """Return the value, refusing NaN and infinity under the name of the argument."""
    if not isfinite(value):
        raise ValueError(f"{name} is {value}; give a finite number")
    return value


def ascending(least: float, typical: float, most: float, unit: str) -> None:
    """Refuse three values that are not finite, or not least, typical, most in that order."""
    if least <= typical <= most and isfinite(least) and isfinite(most):
        return  # nearly always; a page of a building asks thousands of times
    for name, value in (("least", least), ("typical", typical), ("most", most)):
        finite(value, f"the {name} in {unit}")
    raise ValueError(
        f"least, typical and most are {least}, {typical}, {most} {unit}; give them in rising order"
    )


def mw_from_dbm(level_dbm: float) -> float:
    """Return the power of a level.

    >>> mw_from_dbm(0)
    1.0
    >>> mw_from_dbm(-30)
    0.001
    """
    return float(10 ** (finite(level_dbm, "level_dbm") / 10))


def dbm_from_mw(power_mw: float) -> float:
    """Return the level of a power.

    Raises: ValueError for no power at all, which has no level.

    >>> dbm_from_mw(2)
    3.010299956639812
    """
    if finite(power_mw, "power_mw") <= 0:
        raise ValueError(f"power_mw is {power_mw}; only a power above zero has a level")
    return 10 * log10(power_mw)


def together_dbm(levels_dbm: Iterable[float]) -> float:
    """Return the level of several lights in one fibre: their powers add.

    >>> round(together_dbm([7, 7]), 2)
    10.01
    """
    return dbm_from_mw(fsum(mw_from_dbm(level_dbm) for level_dbm in levels_dbm))


def db_from_ratio(ratio: float) -> float:
    """Return the loss of something that passes this part of the power.

    >>> round(db_from_ratio(1 / 32), 3)
    15.051
    """
    if not 0 < ratio <= 1:
        raise ValueError(f"ratio is {ratio}; a passive part passes above 0 and at most 1")
    return 10 * log10(1 / ratio)


def ratio_from_db(loss_db: float) -> float:
    """Return the part of the power that is left after a loss.

    >>> ratio_from_db(10)
    0.1
    """
    return float(10 ** (-finite(loss_db, "loss_db") / 10))
