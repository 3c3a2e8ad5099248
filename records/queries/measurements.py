"""Which change measured a value that stands: a loss, a fibre's length, a port's launch."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from records.models import Change
from records.queries.engine import Row, ids, in_ids, rows
from records.queries.moment import number_asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """The change that gave a measured value: its number, when, by whom and why."""

    change_number: int
    at: datetime
    by: str
    reason: str


class Measured(NamedTuple):
    """Measurements by what was measured: passages, joints, legs and channels, each by its id."""

    losses: Mapping[int, Measurement]
    lengths: Mapping[int, Measurement]
    joints: Mapping[int, Measurement]
    legs: Mapping[int, Measurement]
    launches: Mapping[int, Measurement]


# A fibre is laid with its cable's length; another length was measured.
_VERSIONS = """
SELECT 'losses', id, since, row, CAST(measured_mdb AS bigint), CAST(NULL AS bigint)
FROM records_passage_history WHERE {passages} AND since < until AND since <= %s
UNION ALL
SELECT 'lengths', passage.id, passage.since, passage.row, passage.length_cm, cable.length_cm
FROM records_passage_history passage JOIN records_cable cable ON cable.id = passage.cable_id
WHERE {fibres} AND passage.since < passage.until AND passage.since <= %s
UNION ALL
SELECT 'joints', id, since, row, measured_mdb, NULL
FROM records_joint_history WHERE {joints} AND since < until AND since <= %s
UNION ALL
SELECT 'legs', id, since, row, measured_mdb, NULL
FROM records_point_history WHERE {legs} AND since < until AND since <= %s
UNION ALL
SELECT 'launches', id, since, row, launch_mdbm, NULL
FROM records_channel_history WHERE {channels} AND since < until AND since <= %s
ORDER BY 1, 2, 4
"""


def measured(
    *,
    passages: Iterable[int],
    joints: Iterable[int],
    legs: Iterable[int],
    channels: Iterable[int],
) -> Measured:
    """Return which changes gave the measured values that stand, with two queries."""
    asked = number_asked()
    of_passages = ids(passages)
    params = (of_passages, of_passages, ids(joints), ids(legs), ids(channels))
    sql = _VERSIONS.format(
        passages=in_ids("id"),
        fibres=in_ids("passage.id"),
        joints=in_ids("id"),
        legs=in_ids("id"),
        channels=in_ids("id"),
    )
    given_by = _given_by(rows(sql, [each for param in params for each in (param, asked)]))
    changes = Change.objects.select_related("actor").in_bulk(
        {number for numbers in given_by.values() for number in numbers.values()}
    )
    return Measured(
        **{
            what: {thing: _measurement(changes[number]) for thing, number in numbers.items()}
            for what, numbers in given_by.items()
        }
    )


def _given_by(versions: Iterable[Row]) -> dict[str, dict[int, int]]:
    """Return the change that gave each value that stands, by what it is of."""
    given_by: dict[str, dict[int, int]] = {name: {} for name in Measured._fields}
    values: dict[tuple[str, int], int | None] = {}
    for what, thing, since, _row, value, unmeasured in versions:
        before = values.get((what, thing), unmeasured)
        values[what, thing] = value
        if value is None:
            given_by[what].pop(thing, None)
        elif value != before:
            given_by[what][thing] = since
    return given_by


def _measurement(change: Change) -> Measurement:
    return Measurement(
        change_number=change.number,
        at=change.at,
        by=change.actor.get_username(),
        reason=change.reason,
    )
