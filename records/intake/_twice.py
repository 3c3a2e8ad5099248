"""What two rows of a sheet can't both have."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from records.intake._faults import Findings, said_rows
from records.intake._keys import serial_key
from records.intake._plan import Draft, Key, Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class _Once:
    """Something that belongs to one row only: by what key, in which column, in which words."""

    key: Callable[[Draft], Key | None]
    column: str
    words: Callable[[Draft], str]
    allowed: str


def _of(draft: Draft, kind: Kind, *more: int | str | None) -> Key | None:
    item = draft.items.get(kind)
    return (*item.key, *(part or 0 for part in more)) if item and None not in more else None


_ONCE = (
    _Once(
        key=lambda draft: _of(draft, Kind.FLAT),
        column="flat",
        words=lambda draft: draft.entry.flat,
        allowed="One row a flat.",
    ),
    _Once(
        key=lambda draft: _of(draft, Kind.SPLITTER, draft.entry.leg),
        column="leg",
        words=lambda draft: f"Leg {draft.entry.leg} of {draft.entry.splitter}",
        allowed="One leg for one flat; correct the row that is wrong.",
    ),
    _Once(
        key=lambda draft: _of(draft, Kind.CABLE, draft.entry.fibre),
        column="fibre",
        words=lambda draft: f"Fibre {draft.entry.fibre} of {draft.entry.cable}",
        allowed="One fibre for one flat; correct the row that is wrong.",
    ),
    _Once(
        key=lambda draft: (serial_key(draft.entry.serial),) if draft.entry.serial else None,
        column="serial",
        words=lambda draft: f"Serial {draft.entry.serial}",
        allowed="One serial for one home terminal; read it again.",
    ),
)


def note_twice(drafts: Sequence[Draft], findings: Findings) -> None:
    """Note each flat, leg, fibre and serial that several rows have, once with all of them."""
    for once in _ONCE:
        for users in _groups(drafts, once):
            rows, first = [draft.entry.row for draft in users], users[0]
            findings.fault(
                first.entry.row,
                once.column,
                getattr(first.entry, once.column),
                f"{once.words(first)} is in rows {said_rows(rows)}.",
                allowed=once.allowed,
                rows=rows,
            )


def _groups(drafts: Iterable[Draft], once: _Once) -> list[list[Draft]]:
    groups: dict[Key, list[Draft]] = defaultdict(list)
    for draft in drafts:
        key = once.key(draft)
        if key is not None:
            groups[key].append(draft)
    return [users for users in groups.values() if len(users) > 1]
