"""What was changed since an earlier change, such as the one of the last handover."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from records.handover.pack.grid import Column, Grid, Row, row
from records.handover.pack.pages import Paragraph
from records.handover.pack.told import Told
from records.models import Change
from records.queries.changes import steps_of
from records.queries.words import counted

ABOUT = "changes here since the one asked for"

_STEPS_SHOWN = 6
_SHORT = (
    Column("Change", 16, "right"),
    Column("When (UTC)", 30),
    Column("Deed", 44),
    Column("Job", 20),
    Column("Steps", 14, "right"),
)
_FULL = (
    Column("Change", 12, "right"),
    Column("When (UTC)", 24),
    Column("By", 20),
    Column("What was done", 80),
    Column("Why", 40),
)


def section(told: Told) -> Iterator[Flowable]:
    """Yield the list where one was asked for."""
    changes = told.built.changes
    if changes is None:
        return
    yield Paragraph(
        f"{counted(len(changes), 'change')} touched this place after change {told.built.since}."
    )
    if not changes:
        return
    if told.names.has_addresses:
        yield Grid(_FULL, [_full(each) for each in changes])
    else:
        yield Grid(_SHORT, [_short(each) for each in changes])


def _short(change: Change) -> Row:
    """Return a change without words of people, which may hold an address."""
    job = f"job {change.job_id}" if change.job_id else ""
    steps = str(len(steps_of(change)))
    return row(str(change.number), f"{change.at:%Y-%m-%d %H:%M}", change.verb, job, steps)


def _full(change: Change) -> Row:
    steps = steps_of(change)
    more = len(steps) - _STEPS_SHOWN
    said = [*steps[:_STEPS_SHOWN], *([f"and {more} more"] if more > 0 else [])]
    return row(
        str(change.number),
        f"{change.at:%Y-%m-%d %H:%M}",
        change.actor.get_username(),
        "\n".join(said),
        change.reason,
    )
