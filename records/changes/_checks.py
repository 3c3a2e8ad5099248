"""Checks that several verbs share: numbers into whole units, things that must exist."""

import math
import re
from collections.abc import Iterable
from typing import Any, TypeVar

from django.db.models import Manager, Model, QuerySet, Value
from django.db.models.functions import Upper

from records.changes.refusals import (
    Malformed,
    Missing,
    NotMeasured,
    PlaceRetired,
    StillJoined,
)
from records.models import JointEnd, Place, Point
from records.optics.readings import possible_dbm
from records.queries.names import address, named_points

M = TypeVar("M", bound=Model)
K = TypeVar("K", int, str)

LENGTH_MAX_M = 100_000
"""No fibre of a PON is longer (common practice: XGS-PON's widest logical reach is 60 km)."""

LOSS_MAX_DB = 60
"""No element of a PON loses more and is still worth recording (common practice)."""

LEVEL_RANGE_DBM = possible_dbm(is_in_a_home=False)
"""From the least that a field meter shows to the most that a PON carries."""


def length_cm(length_m: float, *, field: str = "length_m") -> int:
    """Return metres as whole centimetres. Raises: Malformed out of 0 to LENGTH_MAX_M."""
    return round(_within(length_m, 0, LENGTH_MAX_M, field=field, unit="m") * 100)


def loss_mdb(loss_db: float | None, *, field: str = "loss_db") -> int | None:
    """Return decibels as whole millidecibels. Raises: Malformed out of 0 to LOSS_MAX_DB."""
    if loss_db is None:
        return None
    return round(_within(loss_db, 0, LOSS_MAX_DB, field=field, unit="dB") * 1000)


def level_mdbm(level_dbm: float, *, field: str = "level_dbm") -> int:
    """Return dBm as whole thousandths. Raises: Malformed out of LEVEL_RANGE_DBM."""
    low, high = LEVEL_RANGE_DBM
    return round(_within(level_dbm, low, high, field=field, unit="dBm") * 1000)


def _within(value: float, low: float, high: float, *, field: str, unit: str) -> float:
    if not math.isfinite(value) or not low <= value <= high:
        raise Malformed(
            f"{field.rpartition('_')[0].capitalize()} {value:g} {unit} is not possible.",
            hint=f"Give a number from {low:g} to {high:g} {unit}.",
            field=field,
        )
    return value


def whole(value: int, low: int, high: int, *, field: str, noun: str) -> int:
    """Return a count that lies in its range. Raises: Malformed."""
    if not low <= value <= high:
        raise Malformed(
            f"{value} is not a possible {noun}.",
            hint=f"Give a whole number from {low} to {high}.",
            field=field,
        )
    return value


def text(value: str, limit: int, *, field: str, needed: bool = False) -> str:
    """Return a text without outer spaces.

    Raises: Malformed when empty though needed, too long, or with what no keyboard writes.
    """
    value = " ".join(value.split())
    if needed and not value:
        raise Malformed(f"The {field} is empty.", hint="Give one.", field=field)
    if len(value) > limit:
        raise Malformed(
            f"The {field} has {len(value)} characters.", hint=f"Use at most {limit}.", field=field
        )
    if _CONTROLS.search(value):
        raise Malformed(
            f"The {field} has a character that can't be shown.", hint="Type it anew.", field=field
        )
    return value


_CONTROLS = re.compile(r"[\x00-\x1f\x7f-\x9f]")
"""Control characters. PostgreSQL holds no text with the first of them."""


def choice(value: str, allowed: Iterable[str], *, field: str) -> str:
    """Return a value that is one of those allowed. Raises: Malformed."""
    listed = list(allowed)
    if value not in listed:
        raise Malformed(
            f"'{value}' is not a {field} known here.",
            hint=f"Use one of: {', '.join(listed)}.",
            field=field,
        )
    return value


_SOUGHT = {"leg": "leg", "to": "leg", "port": "PON port", "closure": "closure"}
"""What is sought for an argument of this name, where its table holds other things as well."""


def existing(things: "Manager[M] | QuerySet[M]", pk: int, *, field: str) -> M:
    """Return the thing with this id. Raises: Missing."""
    found = things.filter(pk=pk).first()
    if found is None:
        raise _missing(things, pk, field)
    return found


def existing_all(
    things: "Manager[M] | QuerySet[M]", pks: Iterable[int], *, field: str
) -> dict[int, M]:
    """Return the things with these ids, by id, with one query. Raises: Missing."""
    wanted = dict.fromkeys(pks)
    found: dict[int, M] = things.in_bulk(wanted)
    for pk in wanted:
        if pk not in found:
            raise _missing(things, pk, field)
    return found


def _missing(things: "Manager[M] | QuerySet[M]", pk: int, field: str) -> Missing:
    noun = _SOUGHT.get(field, things.model._meta.verbose_name)
    return Missing(
        f"There is no {noun} number {pk}.",
        hint="It may have been removed; find it again.",
        field=field,
    )


def named_alike(things: "QuerySet[Any]", names: Iterable[str]) -> "QuerySet[Any]":
    """Return the things that have one of some names, in capitals or not."""
    uppers = [Upper(Value(name)) for name in dict.fromkeys(names)]
    alike: QuerySet[Any] = things.alias(upper_name=Upper("name"))
    return alike.filter(upper_name__in=uppers)


def first_twin(wanted: Iterable[tuple[K, str]], there: Iterable[tuple[K, str]]) -> int | None:
    """Return which of the wanted names is there in its place, or was wanted there before.

    A name comes with what tells its place.
    """
    taken = {(place, name.upper()) for place, name in there}
    for at, (place, name) in enumerate(wanted):
        if (place, name.upper()) in taken:
            return at
        taken.add((place, name.upper()))
    return None


def present_place(pk: int, *, field: str) -> Place:
    """Return a place that is still there. Raises: Missing, PlaceRetired."""
    found: Place = existing(Place.objects, pk, field=field)
    refuse_retired(found, field=field)
    return found


def present_places(pks: Iterable[int], *, field: str) -> dict[int, Place]:
    """Return places that are still there, by id. Raises: Missing, PlaceRetired."""
    found: dict[int, Place] = existing_all(Place.objects, pks, field=field)
    for place in found.values():
        refuse_retired(place, field=field)
    return found


def refuse_retired(place: Place, *, field: str) -> None:
    """Refuse a place that is no longer there. Raises: PlaceRetired."""
    if place.retired:
        raise PlaceRetired(
            f"{address(place)} is retired.",
            hint="Choose another place, or reinstate this one.",
            field=field,
            subjects=(place.pk,),
        )


def refuse_joined(points: "QuerySet[Point]", what: str) -> None:
    """Refuse to go on while any of the points is joined. Raises: StillJoined."""
    joined = list(JointEnd.objects.filter(point__in=points).values_list("point_id", flat=True)[:4])
    if joined:
        names = "; ".join(named_points(joined[:3]).values())
        more = " and others" if len(joined) > 3 else ""  # noqa: PLR2004 (three are named)
        raise StillJoined(
            f"{what} is still joined: {names}{more}.",
            hint="Part these joints first.",
            subjects=tuple(joined),
        )


def refuse_unmeasured(value: int | None, what: str) -> None:
    """Refuse to take back a measurement that was never recorded. Raises: NotMeasured."""
    if value is None:
        raise NotMeasured(f"{what} was not measured.", hint="Check that this is the right one.")
