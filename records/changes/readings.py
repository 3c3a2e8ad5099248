"""Verbs for readings: read (record one), take back a mistaken one."""

from datetime import datetime
from typing import Any

from django.contrib.auth import get_user_model

from records.changes._checks import (
    LEVEL_RANGE_DBM,
    choice,
    existing,
    level_mdbm,
    text,
    whole,
)
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed
from records.models import Direction, Point, Reading
from records.queries.names import point_name

WAVELENGTHS_NM = (1260, 1675)
"""The single-mode bands O to U. Source: ITU-T G Supplement 39 (band names; from memory)."""

LEVELS_DBM = LEVEL_RANGE_DBM
UNCERTAINTY_MAX_DB = 10.0


@verb
def read(
    change: OpenChange,
    point: int,
    *,
    wavelength_nm: int,
    direction: str = Direction.DOWN,
    level_dbm: float | None,
    uncertainty_db: float = 0.5,
    meter: str = "",
    taken_at: datetime | None = None,
    taken_by: int | None = None,
    note: str = "",
) -> Reading:
    """Record a level measured at a point; `level_dbm` None means the meter saw no light.

    Without `taken_at` the reading is of the change's own moment, without `taken_by`, the id of a
    user, by whoever makes the change. The default uncertainty is that of a field power meter
    (common practice). Raises: Malformed, Missing.
    """
    where = existing(
        Point.objects.select_related("equipment__place", "passage__cable"), point, field="point"
    )
    choice(direction, Direction.values, field="direction")
    whole(wavelength_nm, *WAVELENGTHS_NM, field="wavelength_nm", noun="wavelength in nm")
    if not 0 <= uncertainty_db <= UNCERTAINTY_MAX_DB:
        raise Malformed(
            f"An uncertainty of {uncertainty_db:g} dB is not possible.",
            hint=f"Give a number from 0 to {UNCERTAINTY_MAX_DB:g} dB.",
            field="uncertainty_db",
        )
    moment = taken_at or change.at
    if moment > change.at:
        raise Malformed(
            "The reading would be from the future.",
            hint="Check the date and time.",
            field="taken_at",
        )

    reading = Reading.objects.create(
        point=where,
        wavelength_nm=wavelength_nm,
        direction=direction,
        level_mdbm=None if level_dbm is None else level_mdbm(level_dbm),
        uncertainty_mdb=round(uncertainty_db * 1000),
        meter=text(meter, 60, field="meter"),
        taken_at=moment,
        taken_by_id=change.actor.pk if taken_by is None else _person(taken_by),
        change_id=change.number,
        note=text(note, 200, field="note"),
    )
    level = "no light" if level_dbm is None else f"{level_dbm:g} dBm"
    change.say(f"read {level} at {point_name(where)}, {wavelength_nm} nm {direction}")
    return reading


def _person(user: int) -> Any:
    return existing(get_user_model().objects, user, field="taken_by").pk


@verb
def take_back(change: OpenChange, reading: int) -> None:
    """Take back a mistaken reading. History keeps it. Raises: Missing."""
    found = existing(Reading.objects, reading, field="reading")
    found.delete()
    change.say(f"took back reading {reading}")
