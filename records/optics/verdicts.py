"""Judge a receiver, a path and a tree against what their optical class allows.

Each judgement returns all that is wrong as values, none if all is well; a limit just met is met.
A margin is what is left before a limit, so a verdict is a margin below zero.
"""

from dataclasses import dataclass
from enum import StrEnum

from records.optics.classes import ClassDirection, OpticalClass, needed_dbm
from records.optics.decibels import SAME_DB
from records.optics.levels import Level
from records.optics.losses import Loss


class Fault(StrEnum):
    """What can be wrong with the light at a receiver."""

    TOO_WEAK = "too weak"
    TOO_STRONG = "too strong"
    OUT_OF_CLASS = "out of class"
    OUT_OF_REACH = "out of reach"
    DIFFERENTIAL_REACH = "differential reach"
    SPLIT_BEYOND_CLASS = "split beyond class"


# The unit of each fault's figures, and how the trade says it.
_SAID = {
    Fault.TOO_WEAK: ("dBm", "{figure} at worst, {excess} under the {limit} the receiver needs"),
    Fault.TOO_STRONG: ("dBm", "{figure} at best, {excess} over the receiver's limit of {limit}"),
    Fault.OUT_OF_CLASS: ("dB", "path loss {figure}, {excess} beyond the class's limit of {limit}"),
    Fault.OUT_OF_REACH: ("m", "{figure} of fibre, {excess} over the class's reach of {limit}"),
    Fault.DIFFERENTIAL_REACH: (
        "m",
        "{figure} more fibre than to the nearest home, the class allows {limit}",
    ),
    Fault.SPLIT_BEYOND_CLASS: ("ways", "divided {figure}, the class provides for {limit}"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One thing that is wrong: the figure found and the limit it breaks, both in `unit`."""

    fault: Fault
    figure: float
    limit: float

    @property
    def unit(self) -> str:
        """Return dBm, dB, m or ways."""
        return _SAID[self.fault][0]

    @property
    def excess(self) -> float:
        """Return by how much the limit is broken; dB where figure and limit are dBm."""
        return abs(self.figure - self.limit)

    @property
    def words(self) -> str:
        """Return the verdict as a sentence, levels and losses to a hundredth of a dB.

        >>> Verdict(fault=Fault.TOO_STRONG, figure=-5.56, limit=-8.0).words
        "too strong: -5.56 dBm at best, 2.44 dB over the receiver's limit of -8.00 dBm"
        """
        unit, sentence = _SAID[self.fault]
        figures = sentence.format(
            figure=_said(self.figure, unit),
            limit=_said(self.limit, unit),
            excess=_said(self.excess, "dB" if unit == "dBm" else unit),
        )
        return f"{self.fault}: {figures}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """What a receiver has left before each limit, in dB; below zero, the limit is broken."""

    above_needed_db: float
    below_overload_db: float
    below_loss_max_db: float
    above_loss_min_db: float


def margins(direction: ClassDirection, *, level: Level, path_loss: Loss) -> Margins:
    """Return the margins of a receiver: worst case against weak, best case against strong."""
    return Margins(
        above_needed_db=level.least_dbm - needed_dbm(direction),
        below_overload_db=direction.overload_dbm - level.most_dbm,
        below_loss_max_db=direction.loss_max_db - path_loss.most_db,
        above_loss_min_db=path_loss.least_db - direction.loss_min_db,
    )


def receiver_verdicts(
    direction: ClassDirection, *, level: Level, path_loss: Loss
) -> tuple[Verdict, ...]:
    """Judge the light at a receiver, and the loss of the path it came by.

    Too weak counts from the sensitivity with the path penalty on top (`needed_dbm`), so it says
    the same as the class's own loss range. Level and loss are judged apart, because a measured
    launch outside the class can hide a loss outside it.
    """
    return (
        *_under(Fault.TOO_WEAK, level.least_dbm, needed_dbm(direction)),
        *_over(Fault.TOO_STRONG, level.most_dbm, direction.overload_dbm),
        *_over(Fault.OUT_OF_CLASS, path_loss.most_db, direction.loss_max_db),
        *_under(Fault.OUT_OF_CLASS, path_loss.least_db, direction.loss_min_db),
    )


def path_verdicts(
    optical_class: OpticalClass, *, fibre_m: float, split: int
) -> tuple[Verdict, ...]:
    """Judge a path from OLT to terminal: its fibre, and the product of its splits."""
    return (
        *_over(Fault.OUT_OF_REACH, fibre_m, optical_class.reach_m),
        *_over(Fault.SPLIT_BEYOND_CLASS, split, optical_class.split_max),
    )


def tree_verdicts(
    optical_class: OpticalClass, *, nearest_m: float, furthest_m: float
) -> tuple[Verdict, ...]:
    """Judge the terminals of one PON together, by the fibre to the nearest and the furthest."""
    apart_m = furthest_m - nearest_m
    return _over(Fault.DIFFERENTIAL_REACH, apart_m, optical_class.differential_reach_m)


def _over(fault: Fault, figure: float, limit: float | None) -> tuple[Verdict, ...]:
    if limit is None or figure <= limit + SAME_DB:
        return ()
    return (Verdict(fault=fault, figure=figure, limit=limit),)


def _under(fault: Fault, figure: float, limit: float) -> tuple[Verdict, ...]:
    if figure >= limit - SAME_DB:
        return ()
    return (Verdict(fault=fault, figure=figure, limit=limit),)


def _said(value: float, unit: str) -> str:
    return f"{value:.2f} {unit}" if unit in {"dB", "dBm"} else f"{value:.0f} {unit}"
