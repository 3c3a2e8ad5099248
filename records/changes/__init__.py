"""Floor 3: the verbs, the only writers of the record.

A module is a noun, a function is a trade verb: `joints.join`, `bookings.book`, `cables.lay`. A
face opens a change and hands it to one or more verbs:

    with changes.opened(actor=user, reason="flat 12 connected", at=now) as change:
        joints.join(change, leg, fibre_end, kind="fusion")

Verbs check, write, keep light and bookings in step, and refuse with words for a person (see
refusals.py). All of a `with` block is one change, committed whole or not at all; with
`preview=True` it runs for real and leaves nothing. What must not live here: pages, formats, a
clock, randomness. Start from _transaction.py, then joints.py and _light.py.
"""

from records.changes import (
    bookings,
    buildings,
    cable_works,
    cables,
    catalogue,
    channels,
    cuts,
    equipment,
    hazards,
    jobs,
    joints,
    label_rules,
    lines,
    places,
    prints,
    readings,
    retention,
    swaps,
    tags,
)
from records.changes._transaction import VERBS, Busy, OpenChange, Overtaken, is_lock, opened
from records.changes.refusals import Refusal

__all__ = [
    "VERBS",
    "Busy",
    "OpenChange",
    "Overtaken",
    "Refusal",
    "bookings",
    "buildings",
    "cable_works",
    "cables",
    "catalogue",
    "channels",
    "cuts",
    "equipment",
    "hazards",
    "is_lock",
    "jobs",
    "joints",
    "label_rules",
    "lines",
    "opened",
    "places",
    "prints",
    "readings",
    "retention",
    "swaps",
    "tags",
]
