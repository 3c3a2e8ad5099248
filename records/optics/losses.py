"""Add up what light loses.

A loss has three values: the least, the typical and the most to expect. Chains add like with like,
so the sum's extremes are the best and the worst case. How unlikely those are is the business of
statistical.py.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum

from records.optics.decibels import ascending, db_from_ratio, finite

M_PER_KM = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """What a part or a path costs, in dB.

    Raises: ValueError unless 0 <= least_db <= typical_db <= most_db, all finite.

    >>> Loss(least_db=0, typical_db=0.12, most_db=0.25) + Loss.exactly(0.05)
    Loss(least_db=0.05, typical_db=0.16999999999999998, most_db=0.3)
    """

    least_db: float
    typical_db: float
    most_db: float

    def __post_init__(self) -> None:
        _check(self.least_db, self.typical_db, self.most_db, "dB")

    @classmethod
    def exactly(cls, loss_db: float) -> "Loss":
        """Return a loss known to one value, such as a measured one."""
        return cls(least_db=loss_db, typical_db=loss_db, most_db=loss_db)

    def __add__(self, other: "Loss") -> "Loss":
        return total_loss((self, other))


def total_loss(losses: Iterable[Loss]) -> Loss:
    """Return the loss of a chain: best case, typical, worst case.

    The sums are rounded once, so the order of the parts makes no difference at all.

    >>> total_loss([Loss.exactly(3.01), Loss.exactly(0.5), Loss.exactly(0.5)])
    Loss(least_db=4.01, typical_db=4.01, most_db=4.01)
    """
    chain = tuple(losses)
    return Loss(
        least_db=fsum(loss.least_db for loss in chain),
        typical_db=fsum(loss.typical_db for loss in chain),
        most_db=fsum(loss.most_db for loss in chain),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Attenuation:
    """What fibre costs by its length, in dB/km; three values as in `Loss`.

    Raises: ValueError unless 0 <= least <= typical <= most, all finite.
    """

    least_db_per_km: float
    typical_db_per_km: float
    most_db_per_km: float

    def __post_init__(self) -> None:
        _check(self.least_db_per_km, self.typical_db_per_km, self.most_db_per_km, "dB/km")

    @classmethod
    def exactly(cls, db_per_km: float) -> "Attenuation":
        """Return an attenuation known to one value, such as a measured slope."""
        return cls(
            least_db_per_km=db_per_km, typical_db_per_km=db_per_km, most_db_per_km=db_per_km
        )

    def over(self, length_m: float) -> Loss:
        """Return the loss of a fibre of this length (of the fibre, not of its route).

        >>> Attenuation.exactly(0.4).over(1985)
        Loss(least_db=0.794, typical_db=0.794, most_db=0.794)
        """
        if finite(length_m, "length_m") < 0:
            raise ValueError(f"length_m is {length_m}; a fibre is not shorter than nothing")
        return Loss(
            least_db=self.least_db_per_km * length_m / M_PER_KM,
            typical_db=self.typical_db_per_km * length_m / M_PER_KM,
            most_db=self.most_db_per_km * length_m / M_PER_KM,
        )


def ideal_split_db(legs: int) -> float:
    """Return the loss of one leg of a splitter that only divides the light evenly.

    The same holds from either input of a 2:N splitter: its second input costs nothing more, and
    lies dark without harm. Source: equal division, 10·log10 N.

    >>> round(ideal_split_db(32), 3)
    15.051
    """
    if legs < 1:
        raise ValueError(f"legs is {legs}; a splitter has at least 1")
    return db_from_ratio(1 / legs)


def ideal_tap_db(share_percent: float) -> float:
    """Return the loss of the port of an uneven splitter that takes this share of the light.

    Source: division of power, 10·log10(100 / share).

    >>> round(ideal_tap_db(95), 3), round(ideal_tap_db(5), 3)
    (0.223, 13.01)
    """
    return db_from_ratio(share_percent / 100)


def _check(least: float, typical: float, most: float, unit: str) -> None:
    ascending(least, typical, most, unit)
    if least < 0:
        raise ValueError(
            f"least is {least} {unit}; a passive part adds no light. "
            "Where an OTDR shows a gain, give the mean of both directions"
        )
