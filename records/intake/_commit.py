"""Take a sheet in: run the verbs for what is new, in one change, all or nothing."""

from collections.abc import Callable
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser

from records import changes
from records.changes import Busy, OpenChange, Overtaken, Refusal
from records.intake._build import Site, build
from records.intake._faults import Fault, FaultsError, Findings
from records.intake._plan import COLUMN_OF, Item, Plan, RowPlan

Progress = Callable[[int, int], None]
"""Told how many rows are done, of how many."""

TAKE_IN = "intake.take_in"
"""What a change is called that takes in a sheet, however many verbs that takes."""

MOST_NAMED = 50
"""A rehearsal that has found so many faults goes no further."""


def commit(
    plan: Plan,
    *,
    actor: AbstractBaseUser,
    at: datetime,
    reason: str = "",
    progress: Progress | None = None,
) -> OpenChange:
    """Take a sheet in as one change, and return the change.

    Raises: FaultsError when the plan has faults or a verb refuses a row, and nothing is written;
    Busy and Overtaken as any change.
    """
    if plan.faults:
        raise FaultsError(plan.faults)
    with (
        changes.opened(actor=actor, reason=reason, at=at) as change,
        change.as_one_step(TAKE_IN),
    ):
        _build_rows(change, plan, progress)
        change.say(plan.words)
    return change


def _build_rows(change: OpenChange, plan: Plan, progress: Progress | None) -> None:
    site = Site.of(plan)
    for done, row in enumerate(plan.rows, start=1):
        faults = _build_row(change, site, row)
        if faults:
            raise FaultsError(faults)
        _tell(progress, done, plan)


def rehearse(
    plan: Plan, *, actor: AbstractBaseUser, at: datetime, progress: Progress | None = None
) -> tuple[Fault, ...]:
    """Take a sheet in for real and leave nothing of it; return what the verbs refuse.

    A row that is refused is left half built, and the rehearsal goes on with the next, so that a
    crew gets all faults at once. It takes as long as taking the sheet in.
    Raises: FaultsError when the plan has faults; Busy and Overtaken as any change.
    """
    if plan.faults:
        raise FaultsError(plan.faults)
    faults: list[Fault] = []
    with (
        changes.opened(actor=actor, at=at, preview=True) as change,
        change.as_one_step(TAKE_IN),
    ):
        site = Site.of(plan)
        for done, row in enumerate(plan.rows, start=1):
            faults.extend(_build_row(change, site, row))
            if len(faults) >= MOST_NAMED:
                break
            _tell(progress, done, plan)
    return tuple(faults)


def _tell(progress: Progress | None, done: int, plan: Plan) -> None:
    if progress is not None:
        progress(done, len(plan.rows))


def _build_row(change: OpenChange, site: Site, row: RowPlan) -> tuple[Fault, ...]:
    """Build what is new of a row; return the refusal that ended it, if any."""
    for item in row.items:
        try:
            build(change, site, row, item)
        except (Busy, Overtaken):
            raise
        except Refusal as refusal:
            return (_fault(site.plan, row, item, refusal),)
    return ()


def _fault(plan: Plan, row: RowPlan, item: Item, refusal: Refusal) -> Fault:
    findings = Findings(plan.headers)
    column = COLUMN_OF[item.kind]
    value = getattr(row.entry, "reading" if column == "level_dbm" else column, "")
    findings.fault(row.number, column, value, refusal.message, allowed=refusal.hint)
    return findings.faults[0]
