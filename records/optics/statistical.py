"""Estimate the loss of a chain by statistics, beside its worst case.

Not all parts of a path are at their worst at once. For independent parts the means add, the
variances add, and the loss to design for is

    mean + k·sigma

Source: the statistical approach of ITU-T G.957 clause 8.3 and ITU-T G.Sup39. With losses spread
normally, k = 1, 2, 3 covers 84.1, 97.7, 99.87 % of paths (computed).

Real connector losses are skewed and never below zero, so the far tail of a short chain is worse
than this says: show the estimate beside the worst case, never in its place.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import erfc, exp, fsum, pi, sqrt

from records.optics.decibels import finite
from records.optics.losses import Loss

METHOD = "mean + k·sigma of independent parts (ITU-T G.957 clause 8.3, G.Sup39)"

# How many sigmas above the typical value the most is taken to lie. Source: common practice; PERT
# (Malcolm and others, Operations Research 7, 1959) reads a whole range as six sigmas likewise.
SIGMAS_TO_MOST = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A loss as a mean and the standard deviation around it, in dB.

    Raises: ValueError if either is below zero or not finite.
    """

    mean_db: float
    sigma_db: float

    def __post_init__(self) -> None:
        for name in ("mean_db", "sigma_db"):
            if finite(getattr(self, name), name) < 0:
                raise ValueError(f"{name} is {getattr(self, name)}; give 0 or more")

    def at_db(self, k: float) -> float:
        """Return the loss that lies k sigmas above the mean."""
        return self.mean_db + k * self.sigma_db


def estimate_of(loss: Loss, *, sigmas_to_most: float = SIGMAS_TO_MOST) -> Estimate:
    """Return the estimate of a part: its typical loss is the mean, the most lies sigmas above.

    What is sure in a loss, such as the even division of a splitter, is in both and so adds
    nothing to the spread. For a connector grade give `GRADE_SIGMAS_TO_MOST`.

    >>> estimate_of(Loss(least_db=0, typical_db=0.125, most_db=0.5))
    Estimate(mean_db=0.125, sigma_db=0.125)
    """
    return Estimate(
        mean_db=loss.typical_db, sigma_db=(loss.most_db - loss.typical_db) / sigmas_to_most
    )


def total_estimate(estimates: Iterable[Estimate]) -> Estimate:
    """Return the estimate of a chain of independent parts: means add, sigmas add as squares.

    >>> total_estimate([Estimate(mean_db=0.5, sigma_db=0.25)] * 4)
    Estimate(mean_db=2.0, sigma_db=0.5)
    """
    chain = tuple(estimates)
    return Estimate(
        mean_db=fsum(estimate.mean_db for estimate in chain),
        sigma_db=sqrt(fsum(estimate.sigma_db**2 for estimate in chain)),
    )


def statistical_loss_db(losses: Iterable[Loss], *, k: float) -> float:
    """Return the loss to design a chain for, which is never more than its worst case.

    Raises: ValueError unless 0 <= k <= 3: further out, the worst case is the answer.

    >>> parts = [Loss(least_db=0, typical_db=0.125, most_db=0.5)] * 4
    >>> statistical_loss_db(parts, k=2)  # the worst case is 2.0
    1.0
    """
    if not 0 <= k <= SIGMAS_TO_MOST:
        raise ValueError(f"k is {k}; give 0 to {SIGMAS_TO_MOST:g}, further out use the worst case")
    return total_estimate(estimate_of(loss) for loss in losses).at_db(k)


def share_within(k: float) -> float:
    """Return the share of a normal spread that lies no more than k sigmas above its mean.

    >>> round(share_within(2), 4)
    0.9772
    """
    return erfc(-k / sqrt(2)) / 2


def sigmas_within(share: float) -> float:
    """Return how many sigmas above the mean a share of a normal spread reaches.

    Raises: ValueError unless 0.5 <= share < 1.

    >>> round(sigmas_within(0.97), 3)
    1.881
    """
    if not 0.5 <= share < 1:  # noqa: PLR2004 a half is where the mean is
        raise ValueError(f"share is {share}; give a half or more, and less than 1")
    k = 0.0
    # Above the mean the curve bends one way, so Newton's steps climb to the answer and stop there.
    while (higher := k + (share - share_within(k)) * sqrt(2 * pi) * exp(k * k / 2)) > k:
        k = higher
    return k


# A connector grade is a mean and a limit that 97 % of random matings keep. Source: IEC 61753-1
# (grade B: 0.12 and 0.25 dB).
GRADE_SIGMAS_TO_MOST = sigmas_within(0.97)
