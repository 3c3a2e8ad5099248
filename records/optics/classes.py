"""Say what an optical class promises, and check that its figures agree.

A class (GPON B+, XGS-PON N1) is data, given by a catalogue row for each direction. The rule that
every class obeys is here:

    most loss  = weakest launch - sensitivity - path penalty
    least loss = strongest launch - overload, in the direction where that is more

Source: the definition of the loss range in ITU-T G.984.2, G.987.2 and G.9807.1 and of the
channel insertion loss in IEEE 802.3; restated from tables of the classes that close by it.
"""

from dataclasses import dataclass, fields
from typing import Literal

from records.optics.decibels import SAME_DB, finite

Way = Literal["down", "up"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassDirection:
    """One direction of a class: its band, its range of path loss, and the powers at both ends.

    The penalty is what the path costs the receiver beyond its loss, by dispersion and reflection.
    Raises: ValueError for a figure that is not finite, or for limits in the wrong order.
    """

    wavelength_min_nm: int
    wavelength_max_nm: int
    loss_min_db: float
    loss_max_db: float
    launch_min_dbm: float
    launch_max_dbm: float
    sensitivity_dbm: float
    overload_dbm: float
    penalty_db: float

    def __post_init__(self) -> None:
        for field in fields(self):
            finite(getattr(self, field.name), field.name)
        for name in ("wavelength_min_nm", "loss_min_db", "penalty_db"):
            if getattr(self, name) < 0:
                raise ValueError(f"{name} is {getattr(self, name)}; give 0 or more")
        _ordered("wavelength_nm", self.wavelength_min_nm, self.wavelength_max_nm)
        _ordered("loss_db", self.loss_min_db, self.loss_max_db)
        _ordered("launch_dbm", self.launch_min_dbm, self.launch_max_dbm)
        _ordered("sensitivity and overload", self.sensitivity_dbm, self.overload_dbm)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpticalClass:
    """A class with both directions; None where its standard sets no limit.

    Reach is fibre from OLT to terminal, differential reach the most by which two terminals of one
    PON may differ in it, split the most homes that one PON port divides its light among.
    """

    system: str
    name: str
    down: ClassDirection
    up: ClassDirection
    reach_m: int | None
    differential_reach_m: int | None
    split_max: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """A limit of a class that its own powers contradict."""

    way: Way
    figure: Literal["loss_min_db", "loss_max_db"]
    stated_db: float
    computed_db: float


def power_budget_db(direction: ClassDirection) -> float:
    """Return the weakest launch less the sensitivity: what path and penalty may cost together."""
    return direction.launch_min_dbm - direction.sensitivity_dbm


def needed_dbm(direction: ClassDirection) -> float:
    """Return the weakest level with which the receiver keeps its error rate on a real path.

    Source: ITU-T G.Sup39, worst-case power budget: received power must exceed sensitivity plus
    path penalty.
    """
    return direction.sensitivity_dbm + direction.penalty_db


def bearable_loss_max_db(direction: ClassDirection) -> float:
    """Return the most path loss that the powers of this direction allow."""
    return direction.launch_min_dbm - needed_dbm(direction)


def bearable_loss_min_db(direction: ClassDirection) -> float:
    """Return the least path loss that keeps the receiver of this direction from overload."""
    return max(0.0, direction.launch_max_dbm - direction.overload_dbm)


def misfits(optical_class: OpticalClass) -> tuple[Misfit, ...]:
    """Return where the loss range of a class and its powers disagree; nothing if it closes.

    That a class closes does not show that its figures are the standard's.
    """
    ways: tuple[tuple[Way, ClassDirection], ...] = (
        ("down", optical_class.down),
        ("up", optical_class.up),
    )
    least_db = max(bearable_loss_min_db(direction) for _, direction in ways)
    found = []
    for way, direction in ways:
        most_db = bearable_loss_max_db(direction)
        if abs(direction.loss_min_db - least_db) > SAME_DB:
            found.append(_misfit(way, "loss_min_db", direction.loss_min_db, least_db))
        if abs(direction.loss_max_db - most_db) > SAME_DB:
            found.append(_misfit(way, "loss_max_db", direction.loss_max_db, most_db))
    return tuple(found)


def _misfit(
    way: Way, figure: Literal["loss_min_db", "loss_max_db"], stated_db: float, computed_db: float
) -> Misfit:
    return Misfit(way=way, figure=figure, stated_db=stated_db, computed_db=computed_db)


def _ordered(name: str, low: float, high: float) -> None:
    if low > high:
        raise ValueError(f"{name}: {low} is above {high}; give the lower limit first")
