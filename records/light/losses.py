"""Losses as this floor adds them up: three whole numbers of millidecibels.

Whole numbers add up to the same sum in any order and from any starting point. So light that is
spread on from a stored feed gives, to the last digit, what a recomputation from nothing gives.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple, TypeAlias

CM_PER_KM = 100_000


class LossMdb(NamedTuple):
    """A loss in millidecibels: the least, typical and most to expect."""

    least: int
    typical: int
    most: int

    def plus(self, other: "LossMdb") -> "LossMdb":
        """Return the sum, extremes with extremes."""
        return LossMdb(
            self.least + other.least, self.typical + other.typical, self.most + other.most
        )

    def over(self, length_cm: int) -> "LossMdb":
        """Return the loss of a fibre of this length, reading self as millidecibels a kilometre."""
        return LossMdb(*(_rounded(value * length_cm, CM_PER_KM) for value in self))


NO_LOSS = LossMdb(0, 0, 0)


def measured(value_mdb: int) -> LossMdb:
    """Return a measured loss, which replaces all three values."""
    return LossMdb(value_mdb, value_mdb, value_mdb)


def _rounded(numerator: int, denominator: int) -> int:
    return (2 * numerator + denominator) // (2 * denominator)


class Band(NamedTuple):
    """The loss of an entry over a band of wavelengths, for one branch or (None) for all."""

    branch: int | None
    wavelength_min_nm: int
    wavelength_max_nm: int
    loss: LossMdb


@dataclass(frozen=True)
class Entry:
    """A catalogue entry as light needs it. A branch passes only wavelengths it has a band for."""

    id: int
    kind: str
    inputs: int
    outputs: int
    bands: tuple[Band, ...]
    _known: dict[tuple[int, int | None], LossMdb | None] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def _branches_differ(self) -> bool:
        return any(band.branch is not None for band in self.bands)

    def loss(self, wavelength_nm: int, branch: int) -> LossMdb | None:
        """Return the loss at a wavelength, or None where the entry lets no light pass."""
        key = (wavelength_nm, branch if self._branches_differ else None)
        if key not in self._known:
            self._known[key] = self._look_up(*key)
        return self._known[key]

    def _look_up(self, wavelength_nm: int, branch: int | None) -> LossMdb | None:
        for band in self.bands:
            fits = band.wavelength_min_nm <= wavelength_nm <= band.wavelength_max_nm
            if fits and band.branch == branch:
                return band.loss
        return None


Entries: TypeAlias = Mapping[int, Entry]
