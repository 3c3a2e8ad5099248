"""Readings from a meter's CSV: one row a reading, shown with its verdict, then all or nothing.

    sheet = meter_file.load(file)                       # bytes to rows; UnreadableError
    plan = meter_file.check(sheet, actor=user, at=now)  # faults, or what would be recorded
    taken = meter_file.commit(plan, actor=user, at=now) # the verb, one change; FaultsError

The columns are plain trade words in any order (_meter_columns.py). A decimal comma is refused
unless the file is said to have them. Taking the same file in again adds nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import BinaryIO

from django.contrib.auth.models import AbstractBaseUser

from records import changes
from records.changes import Busy, OpenChange, Overtaken, Refusal, readings
from records.intake import _sheet
from records.intake._faults import FaultsError, Findings, UnreadableError
from records.intake._meter_columns import READINGS
from records.intake._meter_plan import (
    MeterPlan,
    MeterRow,
    key_of,
    note_twice,
    recorded_keys,
    told_rows,
)
from records.intake._meter_points import MeterPoints
from records.intake._meter_rows import MeterReader, people_in
from records.intake._sheet import Sheet

__all__ = [
    "COLUMNS",
    "WAITED_FOR_MAX",
    "MeterPlan",
    "MeterRow",
    "TakenIn",
    "check",
    "commit",
    "load",
    "read",
    "refuse_long",
]

COLUMNS = READINGS.columns

WAITED_FOR_MAX = 1_000
"""Rows that are taken in while someone waits for the answer; more belong to the command."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What was recorded of a plan, and by which change; None where all was there already.

    In the plan, rows that were recorded by another change since it was checked are marked so.
    """

    plan: MeterPlan
    change: OpenChange | None


class _NothingFreshError(Exception):
    """All of a plan was recorded while it waited for its turn."""


def load(file: BinaryIO) -> Sheet:
    """Read an open file, never more of it than a sheet may have. Raises: UnreadableError."""
    return _sheet.load(file, READINGS)


def read(data: bytes) -> Sheet:
    """Read the bytes of a file. Raises: UnreadableError."""
    return _sheet.read(data, READINGS)


def refuse_long(sheet: Sheet) -> None:
    """Refuse a file that takes too long to wait for an answer. Raises: UnreadableError."""
    if len(sheet.rows) > WAITED_FOR_MAX:
        raise UnreadableError(
            f"This file has {len(sheet.rows):,} readings; at most {WAITED_FOR_MAX:,} are taken in "
            "at once here.",
            hint="Split it by day or building, or use the command manage.py readings.",
        )


def check(
    sheet: Sheet, *, actor: AbstractBaseUser, at: datetime, has_decimal_commas: bool = False
) -> MeterPlan:
    """Return what a file would record, with every fault in it. Reads only.

    `at` is now: readings without a time are of it, and later ones are refused. Those that name
    nobody are the actor's.
    """
    findings = Findings(sheet.headers, READINGS)
    if not sheet.rows:
        message = "There is no row below the header."
        findings.fault(None, "", "", message, allowed="One row for each reading.")
    reader = MeterReader(
        findings,
        at=at,
        actor=actor.pk,
        has_decimal_commas=has_decimal_commas,
        people=people_in(sheet),
        points=MeterPoints(row.cells.get("where", "") for row in sheet.rows),
    )
    drafts = [(row.number, reader.reading(row)) for row in sheet.rows]
    sound = [(number, each) for number, each in drafts if each is not None]
    note_twice(sound, findings)
    faults, remarks = findings.in_order()
    return MeterPlan(
        rows=tuple(told_rows(sound)),
        headers=sheet.headers,
        faults=faults,
        remarks=(*sheet.remarks, *remarks),
    )


def commit(
    plan: MeterPlan,
    *,
    actor: AbstractBaseUser,
    at: datetime,
    reason: str = "",
    also: Callable[[TakenIn], None] = lambda _taken: None,
) -> TakenIn:
    """Record all readings of a file that are not in the record yet, as one change.

    Which these are is looked up again once it is the change's turn: the same file may have been
    taken in meanwhile. `also` is done within the change, last of all.
    Raises: FaultsError when the plan has faults or the verb refuses a row, and nothing is
    written; Busy and Overtaken as any change.
    """
    if plan.faults:
        raise FaultsError(plan.faults)
    if plan.is_there_already:
        return TakenIn(plan=plan, change=None)
    try:
        with changes.opened(actor=actor, reason=reason, at=at) as change:
            plan = _looked_up_again(plan)
            _record(change, plan)
            taken = TakenIn(plan=plan, change=change)
            also(taken)
    except _NothingFreshError:
        return TakenIn(plan=plan, change=None)
    return taken


def _looked_up_again(plan: MeterPlan) -> MeterPlan:
    recorded = recorded_keys(row.reading for row in plan.rows)
    rows = (replace(row, is_there_already=key_of(row.reading) in recorded) for row in plan.rows)
    return replace(plan, rows=tuple(rows))


def _record(change: OpenChange, plan: MeterPlan) -> None:
    if not plan.fresh:
        raise _NothingFreshError
    try:
        readings.read_all(change, [_measured(row) for row in plan.fresh])
    except (Busy, Overtaken):
        raise
    except Refusal as refusal:
        _, number, argument = refusal.field.split(".")
        findings = Findings(plan.headers, READINGS)
        column = _COLUMN_OF.get(argument, argument)
        row = plan.fresh[int(number) - 1]
        findings.fault(row.number, column, None, refusal.message, allowed=refusal.hint)
        raise FaultsError(findings.faults) from refusal


def _measured(row: MeterRow) -> readings.Measured:
    reading = row.reading
    return readings.Measured(
        point=reading.point_id,
        wavelength_nm=reading.wavelength_nm,
        direction=reading.direction,
        level_dbm=row.judged.level_dbm,
        uncertainty_db=reading.uncertainty_mdb / 1000,
        meter=reading.meter,
        taken_at=reading.taken_at,
        taken_by=reading.taken_by_id,
        note=reading.note,
    )


_COLUMN_OF = {"point": "where", "taken_at": "time", "taken_by": "person"}
"""The column behind an argument of the verb, where it has another name."""
