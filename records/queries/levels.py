"""Levels from stored feeds: launch minus losses, down at a point and up at the OLT."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from records.optics import verdicts
from records.optics.bands import middle_nm
from records.optics.classes import ClassDirection as OpticsDirection
from records.optics.classes import OpticalClass
from records.optics.levels import Level, launch_level
from records.optics.losses import Loss
from records.optics.verdicts import Margins, Verdict
from records.queries.engine import Row, ids, in_ids, rows
from records.queries.spans import spans

_FIGURES = (
    "wavelength_min_nm",
    "wavelength_max_nm",
    "loss_min_db",
    "loss_max_db",
    "launch_min_dbm",
    "launch_max_dbm",
    "sensitivity_dbm",
    "overload_dbm",
    "penalty_db",
)


_CLASS = "class.system, class.name, class.reach_m, class.differential_reach_m, class.split_max, "
_CLASS += ", ".join(f"{side}.{name}" for side in ("down_side", "up_side") for name in _FIGURES)
_SIDES = """
JOIN records_classdirection down_side
  ON down_side.optical_class_id = class.id AND down_side.direction = 'down'
JOIN records_classdirection up_side
  ON up_side.optical_class_id = class.id AND up_side.direction = 'up'
"""


def optical_classes(class_ids: Iterable[int]) -> dict[int, OpticalClass]:
    """Return classes with their figures, read each time: another process may have loaded them."""
    wanted = set(class_ids)
    if not wanted:
        return {}
    found = rows(
        f"""SELECT class.id, {_CLASS} FROM records_opticalclass class {_SIDES}
            WHERE {in_ids("class.id")}""",
        [ids(wanted)],
    )
    return {class_id: _class(tuple(columns)) for class_id, *columns in found}


def optical_class(class_id: int) -> OpticalClass:
    """Return a class with its figures. Raises: KeyError for an id that is not there."""
    return optical_classes([class_id])[class_id]


# Kept by all that it is made of, so what is kept can't be out of date.
@lru_cache(maxsize=256)
def _class(columns: Row) -> OpticalClass:
    system, name, reach_m, differential_reach_m, split_max, *figures = columns
    return OpticalClass(
        system=system,
        name=name,
        down=_direction(figures[: len(_FIGURES)]),
        up=_direction(figures[len(_FIGURES) :]),
        reach_m=reach_m,
        differential_reach_m=differential_reach_m,
        split_max=split_max,
    )


def _direction(figures: Sequence[float]) -> OpticsDirection:
    named: dict[str, Any] = dict(zip(_FIGURES, figures, strict=True))
    return OpticsDirection(**named)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lit:
    """The light of one channel at one point, in decibels.

    `level` is the down level at the point. `up_level` is what the OLT would receive from a
    terminal here. `since` is the change that last altered this light. `nearest_m` is the fibre to
    the nearest home of the channel, read only where this is further than two homes may lie apart.
    """

    point_id: int
    channel_id: int
    port_id: int
    optical_class: OpticalClass
    is_standby: bool
    leg_id: int | None
    fibre_m: float
    split: int
    down_loss: Loss
    up_loss: Loss
    launch: Level
    level: Level
    up_level: Level
    since: int
    nearest_m: float | None = None

    @property
    def wavelength_nm(self) -> int:
        """Return the middle of the down band."""
        return middle_nm(self.optical_class.down)

    @property
    def name(self) -> str:
        """Return the class, and whether this is the standby."""
        standby = ", standby" if self.is_standby else ""
        return f"{self.optical_class.system} {self.optical_class.name}{standby}"

    @property
    def down_verdicts(self) -> tuple[Verdict, ...]:
        """Return what is wrong for a terminal here: receiver, path, place in the tree."""
        of_class, fibre_m = self.optical_class, self.fibre_m
        nearest_m = fibre_m if self.nearest_m is None else self.nearest_m
        return (
            *verdicts.receiver_verdicts(of_class.down, level=self.level, path_loss=self.down_loss),
            *verdicts.path_verdicts(of_class, fibre_m=fibre_m, split=self.split),
            *verdicts.tree_verdicts(of_class, nearest_m=nearest_m, furthest_m=fibre_m),
        )

    @property
    def up_verdicts(self) -> tuple[Verdict, ...]:
        """Return what is wrong at the OLT's receiver for a terminal here."""
        return verdicts.receiver_verdicts(
            self.optical_class.up, level=self.up_level, path_loss=self.up_loss
        )

    @property
    def down_margins(self) -> Margins:
        """Return what a terminal here has left before each limit."""
        return verdicts.margins(
            self.optical_class.down, level=self.level, path_loss=self.down_loss
        )

    @property
    def up_margins(self) -> Margins:
        """Return what the OLT has left before each limit for a terminal here."""
        return verdicts.margins(self.optical_class.up, level=self.up_level, path_loss=self.up_loss)


_LIT = f"""
    feed.point_id, feed.channel_id, channel.point_id,
    channel.standby_for_id, channel.launch_mdbm, feed.leg_id, feed.length_cm,
    feed.split, feed.since,
    feed.down_least_mdb, feed.down_typical_mdb, feed.down_most_mdb,
    feed.up_least_mdb, feed.up_typical_mdb, feed.up_most_mdb, {_CLASS}
"""
_OF_CLASS = f"JOIN records_opticalclass class ON class.id = channel.optical_class_id {_SIDES}"


def lit_at(point_ids: Iterable[int]) -> list[Lit]:
    """Return the light at some points, main channels before standbys."""
    found = rows(
        f"""SELECT {_LIT}
            FROM records_feed feed JOIN records_channel channel ON channel.id = feed.channel_id
            {_OF_CLASS}
            WHERE {in_ids("feed.point_id")}
            ORDER BY feed.point_id, channel.standby_for_id IS NOT NULL, feed.channel_id""",
        [ids(point_ids)],
    )
    return _beside_nearest([_lit(row) for row in found])


def _beside_nearest(lit: list[Lit]) -> list[Lit]:
    """Add the nearest home of the tree to what may lie too far beyond it.

    What is itself no further than two homes may lie apart can't, so then nothing is read.
    """
    far = {each.channel_id for each in lit if _is_far(each)}
    if not far:
        return lit
    nearest_m = {channel: span.nearest.fibre_m for channel, span in spans(far).items()}
    return [
        replace(each, nearest_m=nearest_m.get(each.channel_id)) if _is_far(each) else each
        for each in lit
    ]


def _is_far(lit: Lit) -> bool:
    limit_m = lit.optical_class.differential_reach_m
    return limit_m is not None and lit.fibre_m > limit_m


def lit_when_read(reading_ids: Iterable[int]) -> dict[int, list[Lit]]:
    """Return the light at the points of some readings, as it stood when each was recorded."""
    found = rows(
        f"""SELECT reading.id, {_LIT}
            FROM records_reading reading
            JOIN records_feed_history feed ON feed.point_id = reading.point_id
             AND feed.since <= reading.change_id AND feed.until > reading.change_id
            JOIN records_channel_history channel ON channel.id = feed.channel_id
             AND channel.since <= reading.change_id AND channel.until > reading.change_id
            {_OF_CLASS}
            WHERE {in_ids("reading.id")}
            ORDER BY reading.id, channel.standby_for_id IS NOT NULL, feed.channel_id""",
        [ids(reading_ids)],
    )
    light: dict[int, list[Lit]] = {}
    for reading, *row in found:
        light.setdefault(reading, []).append(_lit(tuple(row)))
    return light


def _lit(row: Row) -> Lit:
    point, channel, port, standby_for, launch_mdbm, leg, length_cm, split, since = row[:9]
    of_class = _class(row[15:])
    launch = launch_of(of_class, launch_mdbm)
    down_loss, up_loss = loss_of(row[9:12]), loss_of(row[12:15])
    return Lit(
        point_id=point,
        channel_id=channel,
        port_id=port,
        optical_class=of_class,
        is_standby=standby_for is not None,
        leg_id=leg,
        fibre_m=length_cm / 100,
        split=split,
        down_loss=down_loss,
        up_loss=up_loss,
        launch=launch,
        level=launch - down_loss,
        up_level=launch_level(of_class.up) - up_loss,
        since=since,
    )


def launch_of(of_class: OpticalClass, launch_mdbm: int | None) -> Level:
    """Return a channel's launch: as measured, else as its class has it."""
    if launch_mdbm is None:
        return launch_level(of_class.down)
    return Level.exactly(launch_mdbm / 1000)


def loss_of(mdb: Sequence[int]) -> Loss:
    """Return three stored millidecibels as a loss."""
    least, typical, most = mdb
    return Loss(least_db=least / 1000, typical_db=typical / 1000, most_db=most / 1000)
