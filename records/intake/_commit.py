"""Take a sheet in: run the verbs for what is new, in one change, all or nothing."""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser

from records import changes
from records.changes import Busy, OpenChange, Overtaken, Refusal
from records.intake._build import build
from records.intake._faults import Fault, FaultsError, Findings
from records.intake._plan import COLUMN_OF, Item, Kind, Plan, RowPlan
from records.intake._site import Site

Progress = Callable[[int, int], None]
"""Told how many rows are done, of how many."""

TAKE_IN = "intake.take_in"
"""What a change is called that takes in a sheet, however many verbs that takes."""

TOGETHER = 100
"""Rows built at once. Those among which a verb refuses are built one by one, to tell which it is.

More at once is hardly faster: by then what each batch asks is little to what its rows write.
"""

MOST_NAMED = 50
"""A rehearsal that has found so many faults goes no further."""


def commit(
    plan: Plan,
    *,
    actor: AbstractBaseUser,
    at: datetime,
    reason: str = "",
    progress: Progress | None = None,
    also: Callable[[OpenChange], None] = lambda _change: None,
) -> OpenChange:
    """Take a sheet in as one change, and return the change.

    `also` is done within the change, last of all.
    Raises: FaultsError when the plan has faults or a verb refuses a row, and nothing is written;
    Busy and Overtaken as any change.
    """
    if plan.faults:
        raise FaultsError(plan.faults)
    with changes.opened(actor=actor, reason=reason, at=at) as change:
        with change.as_one_step(TAKE_IN):
            refused = next(_built(change, plan, progress), None)
            if refused is not None:
                raise FaultsError((refused,))
            change.say(plan.words)
        also(change)
    return change


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
        for fault in _built(change, plan, progress):
            faults.append(fault)
            if len(faults) >= MOST_NAMED:
                break
    return tuple(faults)


def _built(change: OpenChange, plan: Plan, progress: Progress | None) -> Iterator[Fault]:
    """Build what is new of all rows, many rows at once, and yield what is refused."""
    site = Site.of(plan)
    for start in range(0, len(plan.rows), TOGETHER):
        rows = plan.rows[start : start + TOGETHER]
        if not _build_together(change, site, rows):
            for row in rows:
                yield from _build_row(change, site, row)
        if progress is not None:
            progress(start + len(rows), len(plan.rows))


def _build_together(change: OpenChange, site: Site, rows: Sequence[RowPlan]) -> bool:
    """Build rows all at once, or leave nothing of them where any is refused."""
    before = dict(site.standing)
    try:
        with change.attempt():
            for kind in Kind:
                build(change, site, rows, kind)
    except (Busy, Overtaken):
        raise
    except Refusal:
        site.back_to(before)
        return False
    return True


def _build_row(change: OpenChange, site: Site, row: RowPlan) -> Iterator[Fault]:
    """Build what is new of a row; yield the refusal that ended it, if any."""
    for item in row.items:
        try:
            build(change, site, [row], item.kind)
        except (Busy, Overtaken):
            raise
        except Refusal as refusal:
            yield _fault(site.plan, row, item, refusal)
            return


def _fault(plan: Plan, row: RowPlan, item: Item, refusal: Refusal) -> Fault:
    findings = Findings(plan.headers)
    column = COLUMN_OF[item.kind]
    value = getattr(row.entry, "reading" if column == "level_dbm" else column, "")
    findings.fault(row.number, column, value, refusal.message, allowed=refusal.hint)
    return findings.faults[0]
