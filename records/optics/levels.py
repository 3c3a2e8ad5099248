"""Follow a level from its launch through losses.

Down starts at the OLT, up at the terminal; the arithmetic is one. The weakest level is the
weakest launch after the most loss, the strongest the strongest launch after the least.
"""

from dataclasses import dataclass

from records.optics.classes import ClassDirection
from records.optics.decibels import ascending
from records.optics.losses import Loss


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """The power to expect at a point, in dBm.

    Raises: ValueError unless least_dbm <= typical_dbm <= most_dbm, all finite.

    >>> Level.exactly(3) - Loss(least_db=18, typical_db=18.5, most_db=19)
    Level(least_dbm=-16, typical_dbm=-15.5, most_dbm=-15)
    """

    least_dbm: float
    typical_dbm: float
    most_dbm: float

    def __post_init__(self) -> None:
        ascending(self.least_dbm, self.typical_dbm, self.most_dbm, "dBm")

    @classmethod
    def exactly(cls, level_dbm: float) -> "Level":
        """Return a level known to one value, such as a measured launch."""
        return cls(least_dbm=level_dbm, typical_dbm=level_dbm, most_dbm=level_dbm)

    def __sub__(self, loss: Loss) -> "Level":
        return Level(
            least_dbm=self.least_dbm - loss.most_db,
            typical_dbm=self.typical_dbm - loss.typical_db,
            most_dbm=self.most_dbm - loss.least_db,
        )


def launch_level(direction: ClassDirection) -> Level:
    """Return what a class lets a transmitter launch; typical is the middle (common practice)."""
    return Level(
        least_dbm=direction.launch_min_dbm,
        typical_dbm=(direction.launch_min_dbm + direction.launch_max_dbm) / 2,
        most_dbm=direction.launch_max_dbm,
    )
