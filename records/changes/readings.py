"""Verbs for readings: read (record one), take back a mistaken one."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from django.contrib.auth import get_user_model

from records.changes._checks import (
    choice,
    existing,
    level_mdbm,
    text,
    whole,
)
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed
from records.models import Change, Direction, EquipmentKind, Point, Reading
from records.optics.readings import possible_dbm, why_impossible
from records.queries.names import point_name
from records.queries.readings import Judged, judged_now

WAVELENGTHS_NM = (1260, 1675)
"""The single-mode bands O to U. Source: ITU-T G Supplement 39 (band names; from memory)."""

UNCERTAINTY_MAX_DB = 10.0

EARLIEST = datetime(1998, 1, 1, tzinfo=UTC)
"""No PON is older. Source: ITU-T G.983.1, the first recommendation, is of 1998 (from memory)."""

HOME_KINDS = frozenset({EquipmentKind.OUTLET, EquipmentKind.TERMINAL})
"""Equipment whose ports are in a home, where little light is left."""


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
    (common practice). What the record can't explain is taken with a warning.
    Raises: Malformed, Missing.
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
    if level_dbm is not None:
        _refuse_impossible(level_dbm, is_in_a_home=is_in_a_home(where, direction))
    moment = taken_at or change.at
    if why := why_impossible_then(moment, now=change.at):
        raise Malformed(why, hint="Check the date, the time and the zone.", field="taken_at")

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
    (judged,) = judged_now([reading])
    name = point_name(where)
    for doubt in _doubts(judged, is_dated=taken_at is not None):
        change.warn(f"{name}: {doubt}")
    level = "no light" if level_dbm is None else f"{level_dbm:g} dBm"
    told = f": {judged.against}" if judged.against else ""
    change.say(f"read {level} at {name}, {wavelength_nm} nm {direction}{told}")
    return reading


def is_in_a_home(point: Point, direction: str) -> bool:
    """Tell whether a reading is of what comes down to a port in a home."""
    equipment = point.equipment
    return direction == Direction.DOWN and equipment is not None and equipment.kind in HOME_KINDS


def why_impossible_then(taken_at: datetime, *, now: datetime) -> str:
    """Return why no reading can be of a moment, empty where one can."""
    if taken_at > now:
        return f"{taken_at:%Y-%m-%d %H:%M} is in the future."
    if taken_at < EARLIEST:
        return f"{taken_at:%Y-%m-%d} is before there was any PON to read."
    return ""


def _refuse_impossible(level_dbm: float, *, is_in_a_home: bool) -> None:
    why = why_impossible(level_dbm, is_in_a_home=is_in_a_home)
    if why:
        low, high = possible_dbm(is_in_a_home=is_in_a_home)
        raise Malformed(
            why,
            hint=f"Give dBm from {low:g} to {high:g}, or say that the meter saw no light.",
            field="level_dbm",
        )


def _doubts(judged: Judged, *, is_dated: bool) -> Iterator[str]:
    """Yield what a person should look at again, though it may be so."""
    taken_at = judged.reading.taken_at
    if judged.altered_by is not None:
        yield f"taken before change {judged.altered_by} altered the light there"
    elif judged.doubt:
        yield judged.doubt
    if is_dated and taken_at < _began_at():
        yield f"taken on {taken_at:%Y-%m-%d}, before this record began"


def _began_at() -> datetime:
    return Change.objects.order_by("number").values_list("at", flat=True)[0]


def _person(user: int) -> Any:
    return existing(get_user_model().objects, user, field="taken_by").pk


@verb
def take_back(change: OpenChange, reading: int) -> None:
    """Take back a mistaken reading. History keeps it. Raises: Missing."""
    found = existing(Reading.objects, reading, field="reading")
    found.delete()
    change.say(f"took back reading {reading}")
