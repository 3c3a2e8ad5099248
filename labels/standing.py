"""How printed labels stand: right, gone wrong, missing, not seen since on the wall.

A label has gone wrong when what it says differs from what would be printed now, or when its tag
was voided. Fields that its run left out are not held against it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from enum import StrEnum
from typing import Final, NamedTuple

from labels.choices import label_items
from labels.item import Item, things_of
from records.models import Place, PrintedLabel, Tag
from records.models.tag_code import grouped
from records.queries.prints import (
    Holder,
    LatestLabel,
    codes_on,
    labels_left_in,
    latest_label_of,
    latest_labels,
    printed_blank,
    seen_at,
    subject_of,
)
from records.queries.things import model_of


class State(StrEnum):
    """How the label of a thing stands."""

    GOOD = "good"
    STALE = "stale"
    MISSING = "missing"
    UNRECORDED = "unrecorded"
    """A tag hangs on the thing, and no print of it is recorded here."""


class Standing(NamedTuple):
    """How the label of one item stands, and why it must be replaced."""

    item: Item
    state: State
    why: tuple[str, ...]
    printed: LatestLabel | None
    seen_at: datetime | None

    @property
    def needs_printing(self) -> bool:
        """Tell whether it is missing or says what is no longer so."""
        return self.state is State.MISSING or self.state is State.STALE

    @property
    def is_never_seen(self) -> bool:
        """Tell whether its code is out there and was never scanned."""
        return bool(self.item.code) and self.seen_at is None


def standings(items: Sequence[Item]) -> list[Standing]:
    """Return how each item's label stands, with a fixed number of queries.

    Of a label printed with the code that hangs on its thing, no more is asked about the code.
    """
    latest = latest_labels(things_of(items))
    printed = [latest.get(item.subject) for item in items]
    coded = [item for item in items if item.code]
    unclear = [
        item
        for item, label in zip(items, printed, strict=True)
        if item.code and (label is None or label.code != item.code)
    ]
    seen, blank = seen_at(things_of(coded)), printed_blank(things_of(unclear))
    bound = codes_on(item.holder for item in unclear)
    return [
        _standing(
            item,
            label,
            seen.get(item.code),
            was_blank=item.code in blank,
            is_voided=_is_voided(label, item, bound),
        )
        for item, label in zip(items, printed, strict=True)
    ]


def _is_voided(
    printed: LatestLabel | None, item: Item, bound: Mapping[Holder, Sequence[str]]
) -> bool:
    """Tell whether the code that was printed hangs on its thing no longer."""
    if printed is None or printed.code is None or printed.code == item.code:
        return False
    return printed.code not in bound.get(item.holder, ())


def _standing(
    item: Item,
    printed: LatestLabel | None,
    seen: datetime | None,
    *,
    was_blank: bool,
    is_voided: bool,
) -> Standing:
    if printed is None or (is_voided and was_blank):
        # What was printed is gone for good; a tag that was printed blank may be in its place.
        return Standing(item, _without_print(item, was_blank=was_blank), (), None, seen)
    why = tuple(differing(printed, item))
    if is_voided and printed.code is not None:
        why = (f"its tag {grouped(printed.code)} was voided", *why)
    return Standing(item, State.STALE if why else State.GOOD, why, printed, seen)


def _without_print(item: Item, *, was_blank: bool) -> State:
    """Tell how an item stands of which no label was printed as such."""
    if not item.code or item.kind == "tray":  # a tray's plate has the code of its box
        return State.MISSING
    return State.GOOD if was_blank else State.UNRECORDED


_CALLED: Final[Mapping[str, str]] = {
    "number": "number",
    "name": "name",
    "equipment": "box",
    "size": "size",
    "place_code": "place",
    "end": "end",
    "near_end": "near end",
    "far_end": "far end",
    "line": "line",
    "pictogram": "pictogram",
    "signal": "signal word",
    "words": "caution",
    "level": "hazard level",
    "assessed_on": "day of assessment",
}


def differing(printed: PrintedLabel | LatestLabel, item: Item) -> Iterator[str]:
    """Yield what a printed label says otherwise than it would be printed now."""
    said = printed.fields
    if said.items() <= item.fields.items():
        return
    for name, text in said.items():
        now = item.fields.get(name, "")
        if text != now:
            verb = "shows" if name == "pictogram" else "says"
            yield f"{_CALLED[name]}: it {verb} {_quoted(text)}, now {_quoted(now)}"


def _quoted(text: str) -> str:
    left, right = "\N{LEFT DOUBLE QUOTATION MARK}", "\N{RIGHT DOUBLE QUOTATION MARK}"
    return f"{left}{text}{right}" if text else "nothing"


def left_behind(place: Place, items: Iterable[Item]) -> list[PrintedLabel]:
    """Return the latest labels printed for things in a place that are gone: take them off."""
    latest = {subject_of(label): label for label in labels_left_in(place).order_by("pk")}
    for item in items:
        latest.pop(item.subject, None)
    wanted: dict[str, set[int]] = {}
    for subject in latest:
        if subject.thing is not None:
            wanted.setdefault(subject.noun, set()).add(subject.thing)
    there = {
        (noun, pk)
        for noun, things in wanted.items()
        for pk in model_of(noun).objects.filter(pk__in=things).values_list("pk", flat=True)
    }
    return [
        label for subject, label in latest.items() if (subject.noun, subject.thing) not in there
    ]


def wrong_on(tag: Tag) -> tuple[str, ...]:
    """Return what the label with a tag's code says wrongly; nothing where it is right.

    A blank tag bears nothing but its code, so it can't go wrong.
    """
    printed = latest_label_of(tag)
    if printed is None or not printed.noun:
        return ()
    items = label_items(printed)
    return tuple(differing(printed, items[0])) if items else ("its thing is gone",)
