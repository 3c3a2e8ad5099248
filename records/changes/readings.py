"""Verbs for readings: read (record one, or all of a round), take back a mistaken one."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
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
from records.changes.refusals import Malformed, Refusal
from records.models import Change, Direction, EquipmentKind, Point, Reading
from records.optics.readings import METER_OFF_DB, possible_dbm, why_impossible
from records.queries.names import named_points, point_name
from records.queries.readings import Judged, judged_now

WAVELENGTHS_NM = (1260, 1675)
"""The single-mode bands O to U. Source: ITU-T G Supplement 39 (band names; from memory)."""

UNCERTAINTY_MAX_DB = 10.0

EARLIEST = datetime(1998, 1, 1, tzinfo=UTC)
"""No PON is older. Source: ITU-T G.983.1, the first recommendation, is of 1998 (from memory)."""

_BATCH = 500

HOME_KINDS = frozenset({EquipmentKind.OUTLET, EquipmentKind.TERMINAL})
"""Equipment whose ports are in a home, where little light is left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A level as someone measured it, with all that `read` takes."""

    point: int
    wavelength_nm: int
    direction: str = Direction.DOWN
    level_dbm: float | None
    uncertainty_db: float = METER_OFF_DB
    meter: str = ""
    taken_at: datetime | None = None
    taken_by: int | None = None
    note: str = ""


@verb
def read(
    change: OpenChange,
    point: int,
    *,
    wavelength_nm: int,
    direction: str = Direction.DOWN,
    level_dbm: float | None,
    uncertainty_db: float = METER_OFF_DB,
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
    told = Measured(
        point=point,
        wavelength_nm=wavelength_nm,
        direction=direction,
        level_dbm=level_dbm,
        uncertainty_db=uncertainty_db,
        meter=meter,
        taken_at=taken_at,
        taken_by=taken_by,
        note=note,
    )
    (judged,) = _kept(change, [_draft(change, told, _Known([told]))])
    level = "no light" if level_dbm is None else f"{level_dbm:g} dBm"
    against = f": {judged.against}" if judged.against else ""
    where = point_name(judged.reading.point)
    change.say(f"read {level} at {where}, {wavelength_nm} nm {direction}{against}")
    return judged.reading


@verb
def read_all(change: OpenChange, readings: Sequence[Measured]) -> list[Reading]:
    """Record the levels of a round: all of them or none, in the order given.

    What it costs does not grow with a query a reading. A refusal's field tells which reading it
    is about, counted from 1: `readings.3.taken_at`.
    Raises: Malformed, Missing.
    """
    if not readings:
        raise Malformed("There is no reading.", hint="Give one at least.", field="readings")
    known = _Known(readings)
    drafts = []
    for number, told in enumerate(readings, start=1):
        try:
            drafts.append(_draft(change, told, known))
        except Refusal as refusal:
            refusal.field = f"readings.{number}.{refusal.field}"
            raise
    judged = _kept(change, drafts)
    outcomes = Counter(str(each.verdict.outcome) for each in judged)
    counts = ", ".join(f"{count} {outcome}" for outcome, count in outcomes.most_common())
    noun = "level" if len(judged) == 1 else "levels"
    change.say(f"read {len(judged)} {noun}: {counts}")
    return [each.reading for each in judged]


class _Known:
    """The points and people of some readings, looked up all at once."""

    def __init__(self, readings: Iterable[Measured]) -> None:
        listed = list(readings)
        points = Point.objects.select_related("equipment__place", "passage__cable")
        self._points = points.in_bulk({each.point for each in listed})
        people = {each.taken_by for each in listed if each.taken_by is not None}
        self._people = get_user_model().objects.in_bulk(people)

    def point(self, pk: int) -> Point:
        """Return a point. Raises: Missing."""
        return self._points.get(pk) or existing(Point.objects, pk, field="point")

    def person(self, pk: int) -> Any:
        """Return a user. Raises: Missing."""
        return self._people.get(pk) or existing(get_user_model().objects, pk, field="taken_by")


def _draft(change: OpenChange, told: Measured, known: _Known) -> Reading:
    """Return the reading that a measurement comes to. Raises: Malformed, Missing."""
    where = known.point(told.point)
    choice(told.direction, Direction.values, field="direction")
    whole(told.wavelength_nm, *WAVELENGTHS_NM, field="wavelength_nm", noun="wavelength in nm")
    _refuse_uncertain(told.uncertainty_db)
    if told.level_dbm is not None:
        _refuse_impossible(told.level_dbm, is_in_a_home=is_in_a_home(where, told.direction))
    moment = told.taken_at or change.at
    if why := why_impossible_then(moment, now=change.at):
        raise Malformed(why, hint="Check the date, the time and the zone.", field="taken_at")
    return Reading(
        point=where,
        wavelength_nm=told.wavelength_nm,
        direction=told.direction,
        level_mdbm=None if told.level_dbm is None else level_mdbm(told.level_dbm),
        uncertainty_mdb=round(told.uncertainty_db * 1000),
        meter=text(told.meter, 60, field="meter"),
        taken_at=moment,
        taken_by_id=(known.person(told.taken_by) if told.taken_by else change.actor).pk,
        change_id=change.number,
        note=text(told.note, 200, field="note"),
    )


def _kept(change: OpenChange, drafts: Sequence[Reading]) -> list[Judged]:
    """Write readings, warn of what a person should look at again, and return them judged."""
    kept = Reading.objects.bulk_create(drafts, batch_size=_BATCH)
    judged = judged_now(kept)
    began_at = min(_began_at(), change.at)
    doubts = [(each, doubt) for each in judged for doubt in _doubts(each, began_at=began_at)]
    names = named_points(each.reading.point_id for each, _ in doubts)
    for each, doubt in doubts:
        change.warn(f"{names[each.reading.point_id]}: {doubt}")
    return judged


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


def _refuse_uncertain(uncertainty_db: float) -> None:
    if not 0 <= uncertainty_db <= UNCERTAINTY_MAX_DB:
        raise Malformed(
            f"An uncertainty of {uncertainty_db:g} dB is not possible.",
            hint=f"Give a number from 0 to {UNCERTAINTY_MAX_DB:g} dB.",
            field="uncertainty_db",
        )


def _refuse_impossible(level_dbm: float, *, is_in_a_home: bool) -> None:
    why = why_impossible(level_dbm, is_in_a_home=is_in_a_home)
    if why:
        low, high = possible_dbm(is_in_a_home=is_in_a_home)
        raise Malformed(
            why,
            hint=f"Give dBm from {low:g} to {high:g}, or say that the meter saw no light.",
            field="level_dbm",
        )


def _doubts(judged: Judged, *, began_at: datetime) -> Iterator[str]:
    """Yield what a person should look at again, though it may be so."""
    if judged.caution:
        yield judged.caution
    taken_at = judged.reading.taken_at
    if taken_at < began_at:
        yield f"taken on {taken_at:%Y-%m-%d}, before this record began"


def _began_at() -> datetime:
    return Change.objects.order_by("number").values_list("at", flat=True)[0]


@verb
def take_back(change: OpenChange, reading: int) -> None:
    """Take back a mistaken reading. History keeps it. Raises: Missing."""
    found = existing(Reading.objects, reading, field="reading")
    found.delete()
    change.say(f"took back reading {reading}")
