"""Verbs for the catalogue: load, add, supersede, take over, confirm, take a confirmation back.

Rows are never edited: an entry in use gets a new version, a figure from memory a confirmation
beside it. Whoever used the old version is moved by `take_over`, some trees a change.
"""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from records.changes import _take_over
from records.changes._catalogue_files import load_folder
from records.changes._checks import choice, existing, text, whole
from records.changes._transaction import OpenChange, verb
from records.changes.figures import GivenFigure, checked, form_of
from records.changes.refusals import NameTaken, Refusal
from records.models import (
    CONFIRMABLE,
    CatalogueEntry,
    ClassDirection,
    Confirmation,
    EntryKind,
    Figure,
    SchemeColour,
    TakeOver,
)
from records.queries.catalogue import named_entry
from records.queries.names import entry_name
from records.queries.take_overs import newer_version, progress, uses

TREES_AT_ONCE = 10
"""How many trees one change of a take-over recomputes: others wait a second or so, not more."""

_CONFIRMED_ROWS: dict[str, Any] = {
    "figure": Figure,
    "class_direction": ClassDirection,
    "scheme_colour": SchemeColour,
}


class Superseded(Refusal):
    """A new version for what is not the newest, or not the only one in use."""

    code = "superseded"


@verb
def load(change: OpenChange, folder: Path) -> int:
    """Load what the catalogue files have and the record lacks. Returns the number of new rows.

    What is there already stays as it is: an entry in use is never edited in place.
    """
    added = load_folder(folder)
    change.say(f"loaded {added} catalogue rows")
    return added


@verb
def add(
    change: OpenChange,
    *,
    kind: str,
    name: str,
    figures: Sequence[GivenFigure],
    inputs: int = 1,
    outputs: int = 1,
    note: str = "",
) -> CatalogueEntry:
    """Add a crew's own type of splitter, tap, fibre, joint, attenuator or coupler.

    Raises: Malformed, naming figure and field; NameTaken.
    """
    choice(kind, EntryKind.values, field="kind")
    name = text(name, 60, field="name", needed=True)
    if named_entry(EntryKind(kind), name) is not None:
        raise NameTaken(
            f"There is already a {kind} called {name}.",
            hint="Give this one another name, or supersede that one.",
            field="name",
        )
    form = form_of(kind)
    whole(inputs, *form.inputs, field="inputs", noun=f"number of inputs of a {kind}")
    whole(outputs, *form.outputs, field="outputs", noun=f"number of outputs of a {kind}")
    rows = checked(kind, figures, inputs=inputs, outputs=outputs)

    entry = CatalogueEntry(kind=kind, name=name, inputs=inputs, outputs=outputs)
    entry.note = text(note, 400, field="note")
    _store(entry, rows)
    change.say(f"added {entry_name(entry)} to the catalogue")
    return entry


def _store(entry: CatalogueEntry, rows: Iterable[Figure]) -> None:
    entry.save()
    listed = list(rows)
    for row in listed:
        row.entry = entry
    Figure.objects.bulk_create(listed)


@verb
def supersede(
    change: OpenChange, entry: int, *, figures: Sequence[GivenFigure], note: str = ""
) -> TakeOver:
    """Give an entry a new version with other figures, which is to take over from the old one.

    The old version stays readable and in use until `take_over` has moved everything.
    Raises: Malformed, Missing, Superseded.
    """
    old = existing(CatalogueEntry.objects, entry, field="entry")
    _refuse_superseded(old)
    rows = checked(old.kind, figures, inputs=old.inputs, outputs=old.outputs)

    new = CatalogueEntry(
        kind=old.kind,
        name=old.name,
        version=old.version + 1,
        inputs=old.inputs,
        outputs=old.outputs,
        note=text(note, 400, field="note"),
    )
    _store(new, rows)
    begun = TakeOver.objects.create(old=old, new=new, uses=uses(old.pk), change_id=change.number)
    change.say(
        f"gave {entry_name(old)} version {new.version}; {begun.uses} things use version "
        f"{old.version}"
    )
    return begun


def _refuse_superseded(old: CatalogueEntry) -> None:
    newer = newer_version(old)
    if newer is not None:
        raise Superseded(
            f"Version {old.version} of {old.name} was superseded; {newer.version} is the newest.",
            hint="Supersede that one.",
            field="entry",
            subjects=(newer.pk,),
        )
    before = TakeOver.objects.filter(new=old).select_related("old").first()
    if before is not None and not progress(before).is_done:
        raise Superseded(
            f"Version {old.version} of {old.name} is still taking over from {before.old.version}.",
            hint="Let that finish first.",
            field="entry",
            subjects=(before.pk,),
        )


@verb
def take_over(change: OpenChange, take_over: int, *, trees: int = TREES_AT_ONCE) -> int:
    """Move the next things to the new version and recompute their trees.

    Returns how many moved; 0 when all is done. Repeat it, one change each, until then: it goes on
    from wherever it was stopped. Raises: Missing, and what light refuses.
    """
    found = existing(TakeOver.objects.select_related("old", "new"), take_over, field="take_over")
    whole(trees, 1, 1000, field="trees", noun="number of trees")

    moved = _take_over.move_some(change, found, trees)
    left = uses(found.old_id)
    change.say(
        f"moved {moved} things from version {found.old.version} of {found.old.name} to "
        f"{found.new.version}; {left} left"
    )
    return moved


@verb
def confirm(
    change: OpenChange,
    *,
    noun: str,
    row: int,
    edition: str,
    table: str,
    url: str = "",
    note: str = "",
) -> Confirmation:
    """Note that a row says what an edition of its source says, in which table.

    `noun` is figure, class_direction or scheme_colour. The row and its mark stay as they are.
    Raises: Malformed, Missing.
    """
    choice(noun, CONFIRMABLE, field="noun")
    target = existing(_CONFIRMED_ROWS[noun].objects, row, field="row")
    confirmation = Confirmation.objects.create(
        **{noun: target},
        edition=text(edition, 120, field="edition", needed=True),
        table=text(table, 120, field="table", needed=True),
        url=text(url, 300, field="url"),
        note=text(note, 400, field="note"),
        change_id=change.number,
    )
    change.say(f"confirmed {target} in {confirmation}")
    return confirmation


@verb
def unconfirm(change: OpenChange, confirmation: int) -> None:
    """Take back a mistaken confirmation. History keeps it. Raises: Missing."""
    found = existing(Confirmation.objects, confirmation, field="confirmation")
    found.delete()
    change.say(f"took back the confirmation in {found}")
