"""A job's steps from a spreadsheet: one row a step, its verb and arguments by plain names.

    sheet = job_file.read(data, rows_max=job_file.WAITED_FOR_MAX)  # UnreadableError
    drafted = job_file.drafted(sheet, place=..., actor=user, at=now)  # steps, faults, remarks
    jobs.draft(change, name=..., place=..., steps=drafted.steps)

A column is an argument, a row fills in those that its verb takes. The rows are tried one after
the other in a record that is rolled back, so that a row can name what a row above it makes. A row
that can't be read is a fault, and then nothing is drafted; one that would be refused is drafted
and remarked on, as a draft may well clash today.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from inspect import Parameter
from typing import Any

from django.contrib.auth.models import AbstractBaseUser

from records.changes import Refusal, references
from records.changes.refusals import Malformed
from records.changes.steps import Step, StepMalformed, StepRefused, parameters, plannable
from records.changes.supposing import Supposed, supposed
from records.intake._cells import CellError
from records.intake._faults import Fault, Remark
from records.intake._job_cells import NothingCalledError, RowReader
from records.intake._job_columns import NOTE, VERB, listed, said, verbs_of
from records.intake._job_sheet import MAX_BYTES, JobRow, JobSheet, read
from records.models import Place

__all__ = [
    "MAX_BYTES",
    "WAITED_FOR_MAX",
    "Drafted",
    "JobRow",
    "JobSheet",
    "Taken",
    "drafted",
    "read",
    "takes",
]

WAITED_FOR_MAX = 200
"""Rows of a sheet that a page or a request takes: they hold the turn of all who write."""

_NOTE_MAX = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafted:
    """The steps of a sheet, or what is wrong with it; remarks stop nothing."""

    steps: tuple[Step, ...]
    faults: tuple[Fault, ...]
    remarks: tuple[Remark, ...]


def drafted(sheet: JobSheet, *, place: int, actor: AbstractBaseUser, at: datetime) -> Drafted:
    """Return the steps of a sheet with every fault in it; nothing is written.

    `place` is where the job is: of several things called alike, a row means the one there.

    It holds the turn of all who write, some 20 ms a row: a row is read and judged on a record in
    which the rows above it are done, and rows are done only in a change. Tried in slices, each
    would have to do all rows before it once more. Raises: Busy, Overtaken.
    """
    with supposed([], done=[], actor=actor, at=at) as record:
        draft = _Draft(
            sheet=sheet,
            place=Place.objects.filter(pk=place).first(),
            record=record,
            faults=list(sheet.faults),
        )
        for row in sheet.rows:
            draft.take(row)
    draft.faults.sort(key=lambda each: each.row or 0)
    steps = () if draft.faults else tuple(draft.steps)
    return Drafted(steps=steps, faults=tuple(draft.faults), remarks=tuple(draft.remarks))


@dataclass
class _Draft:
    """The steps so far, and the number of the one at hand.

    `stopped_by` is the first row that could not be read or done.
    """

    sheet: JobSheet
    place: Place | None
    record: Supposed
    faults: list[Fault]
    remarks: list[Remark] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    stopped_by: int | None = None
    number: int = 0

    def take(self, row: JobRow) -> None:
        """Read a row, and do its step if all rows above were done."""
        self.number += 1
        found = len(self.faults)
        step = self._step(row)
        if step is None or len(self.faults) > found:
            self.stopped_by = self.stopped_by or row.number
            return
        self.steps.append(step)
        if self.stopped_by is None:
            self._do(row, step)

    def _step(self, row: JobRow) -> Step | None:
        verb = self._verb(row)
        if verb is None:
            return None
        known = parameters(verb)
        cells = {name: cell for name, cell in row.cells.items() if name not in {VERB, NOTE}}
        reader = RowReader(verb=verb, cells=cells, new=self.record.new, place=self.place)
        arguments: dict[str, Any] = {}
        for name in cells:
            if name in known:
                arguments |= self._argument(row, name, reader)
            else:
                allowed = f"It takes: {', '.join(self._header(each) for each in known)}."
                self._fault(row, name, f"'{said(verb)}' takes no such thing.", allowed)
        self._refuse_lacking(row, verb, known)
        return Step(verb=verb, arguments=arguments, note=row.cells.get(NOTE, "")[:_NOTE_MAX])

    def _verb(self, row: JobRow) -> str | None:
        cell = row.cells.get(VERB, "")
        verbs = verbs_of(cell) if cell else []
        if len(verbs) == 1:
            return verbs[0]
        if verbs:
            message, allowed = f"'{cell}' may be several.", f"One of: {listed(verbs)}."
        elif cell:
            message, allowed = (
                f"'{cell}' is no step.",
                "Such as: book leg, join points, lay cable.",
            )
        else:
            message, allowed = (
                "The row says no step.",
                "Such as: book leg, join points, lay cable.",
            )
        self._fault(row, VERB, message, allowed)
        return None

    def _argument(self, row: JobRow, name: str, reader: RowReader) -> dict[str, Any]:
        try:
            value = reader.value(name)
        except NothingCalledError as error:
            maybe = f" It may be what row {self.stopped_by} makes, once that is put right."
            allowed = error.allowed + (maybe if self.stopped_by else "")
            self._fault(row, name, error.message, allowed)
        except CellError as error:
            self._fault(row, name, error.message, error.allowed)
        else:
            if all(1 <= told["step"] < self.number for told in references.within(value)):
                return {name: value}
            message = f"This is step {self.number}; it can refer only to those before it."
            self._fault(row, name, message, "Put the rows in the order of the work.")
        return {}

    def _refuse_lacking(self, row: JobRow, verb: str, known: Mapping[str, Parameter]) -> None:
        for name, each in known.items():
            if each.default is Parameter.empty and name not in row.cells:
                self._fault(row, name, f"'{said(verb)}' needs it.", "Fill it in.")

    def _do(self, row: JobRow, step: Step) -> None:
        try:
            self.record.do(step)
        except (StepRefused, StepMalformed) as refusal:
            self.stopped_by = row.number
            cause = refusal.cause if isinstance(refusal, StepRefused) else refusal
            self._tell(row, cause)

    def _tell(self, row: JobRow, cause: Refusal) -> None:
        name = cause.field.rpartition(".")[2]
        if isinstance(cause, Malformed | StepMalformed) and name in row.cells:
            self._fault(row, name, cause.message, cause.hint)
            return
        message = f"It would be refused as the record is now: {cause.message} {cause.hint}"
        self.remarks.append(Remark(row=row.number, column=self._header(name), message=message))

    def _fault(self, row: JobRow, name: str, message: str, allowed: str) -> None:
        self.faults.append(
            Fault(
                row=row.number,
                column=self._header(name),
                value=row.cells.get(name, ""),
                message=message,
                allowed=allowed,
                rows=(row.number,),
            )
        )

    def _header(self, name: str) -> str:
        return self.sheet.headers.get(name) or _label(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What one step of a sheet takes: the columns that are needed, and the others."""

    verb: str
    needed: tuple[str, ...]
    others: tuple[str, ...]


def takes() -> list[Taken]:
    """Return for each verb the columns that its rows fill in."""
    return [
        Taken(
            verb=said(verb),
            needed=tuple(_label(n) for n, each in taken.items() if each.default is each.empty),
            others=tuple(_label(n) for n, each in taken.items() if each.default is not each.empty),
        )
        for verb, taken in ((verb, parameters(verb)) for verb in plannable())
    ]


def _label(name: str) -> str:
    return "Remark" if name == "note" else name.replace("_", " ").capitalize()
