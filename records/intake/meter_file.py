"""Readings from a meter's CSV: one row a reading, shown with its verdict, then all or nothing.

    sheet = meter_file.load(file)                       # bytes to rows; UnreadableError
    plan = meter_file.check(sheet, actor=user, at=now)  # faults, or what would be recorded
    taken = meter_file.commit(plan, actor=user, at=now) # the verb, one change; FaultsError

The columns are plain trade words in any order (_meter_columns.py). A decimal comma is refused
unless the file is said to have them. Taking the same file in again adds nothing.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, BinaryIO

from django.contrib.auth.models import AbstractBaseUser
from django.db.models import prefetch_related_objects

from records import changes
from records.changes import Busy, OpenChange, Overtaken, Refusal, readings
from records.intake import _sheet
from records.intake._chunks import chunked
from records.intake._faults import Fault, FaultsError, Findings, Remark, UnreadableError
from records.intake._meter_columns import READINGS
from records.intake._meter_points import MeterPoints
from records.intake._meter_rows import MeterReader, people_in
from records.intake._sheet import Sheet
from records.models import Reading
from records.queries.names import named_points
from records.queries.readings import Judged, judged_now, with_last_good

COLUMNS = READINGS.columns

WAITED_FOR_MAX = 1_000
"""Rows that are taken in while someone waits for the answer; more belong to the command."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterRow:
    """One reading that a file brings: its row, its point in words, and what it says.

    `judged` holds it against the record as it is now; `is_there_already` if it was taken in.
    """

    number: int
    point_name: str
    judged: Judged
    is_there_already: bool

    @property
    def reading(self) -> Reading:
        """Return the reading, not recorded yet."""
        return self.judged.reading


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterPlan:
    """What taking a file in would record. It can be committed only while it has no faults."""

    rows: tuple[MeterRow, ...]
    headers: dict[str, str]
    faults: tuple[Fault, ...]
    remarks: tuple[Remark, ...]

    @property
    def fresh(self) -> tuple[MeterRow, ...]:
        """Return the rows that are not in the record yet."""
        return tuple(each for each in self.rows if not each.is_there_already)

    @property
    def is_sound(self) -> bool:
        """Tell whether nothing stands in the way."""
        return not self.faults

    @property
    def is_there_already(self) -> bool:
        """Tell whether the record holds all of the file, so that there is nothing to do."""
        return self.is_sound and not self.fresh


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
    _note_twice(sound, findings)
    faults, remarks = findings.in_order()
    return MeterPlan(
        rows=tuple(_rows(sound)),
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
    recorded = _recorded(row.reading for row in plan.rows)
    rows = (replace(row, is_there_already=_key(row.reading) in recorded) for row in plan.rows)
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


Numbered = tuple[int, Reading]


def _note_twice(drafts: Sequence[Numbered], findings: Findings) -> None:
    """Note readings of the same point, wavelength, direction and moment."""
    rows_of: dict[tuple[Any, ...], list[int]] = {}
    for number, each in drafts:
        rows_of.setdefault(_key(each)[:-1], []).append(number)
    for number, each in drafts:
        rows = rows_of[_key(each)[:-1]]
        if number != rows[0]:
            findings.fault(
                number,
                "where",
                None,
                f"Row {rows[0]} has a reading of the same point, wavelength and time.",
                allowed="One reading; or the time of each.",
                rows=rows,
            )


def _key(reading: Reading) -> tuple[Any, ...]:
    return (
        reading.point_id,
        reading.wavelength_nm,
        reading.direction,
        reading.taken_at,
        reading.level_mdbm,
    )


def _recorded(drafts: Iterable[Reading]) -> set[tuple[Any, ...]]:
    """Return the keys of all that is recorded at the points of some readings."""
    points = {each.point_id for each in drafts}
    return {_key(each) for each in chunked(Reading.objects.all(), "point__in", points)}


def _rows(drafts: Iterable[Numbered]) -> Iterable[MeterRow]:
    """Return rows with their verdicts, with a number of queries that grows by the hundreds."""
    listed = list(drafts)
    recorded = _recorded(each for _, each in listed)
    names = named_points({each.point_id for _, each in listed})
    prefetch_related_objects([each for _, each in listed], "taken_by")
    judged = with_last_good(judged_now(each for _, each in listed))
    for (number, each), told in zip(listed, judged, strict=True):
        yield MeterRow(
            number=number,
            point_name=names[each.point_id],
            judged=told,
            is_there_already=_key(each) in recorded,
        )
