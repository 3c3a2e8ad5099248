"""Print runs: items laid out with their codes, then recorded with those that are new.

`lay_out` draws what codes are missing and makes the file; only when that went well does `record`
issue and bind them, within one short change. So a refused run leaves nothing behind.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import overload

from labels.choices import blank_item
from labels.design import Label
from labels.item import BLANK_CODE, USUAL_FIELDS, Item, holders, with_codes
from labels.orders import Order, printed, setting_of
from labels.print_run import Printed
from records.changes import OpenChange, prints
from records.changes.prints import LABELS_MAX, ToPrint
from records.models import PrintRun
from records.queries.prints import AnyHolder, by_noun, newest_codes


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A run that is laid out: its items with their codes, which are new, and its file."""

    items: tuple[Item, ...]
    new: frozenset[str]
    shown: frozenset[str]
    order: Order
    file: Printed

    def to_print(self) -> list[ToPrint]:
        """Return what is recorded of its labels."""
        return [item.to_print(self.shown, is_new=item.code in self.new) for item in self.items]


def lay_out(
    items: Sequence[Item],
    order: Order,
    candidates: Iterator[str],
    shown: frozenset[str] = USUAL_FIELDS,
) -> Laid:
    """Lay a run out, with codes taken from `candidates` for the items that have none.

    Raises: LabelRefusal; LabelOvertaken where the run is longer than one may be.
    """
    if not any("pictogram" in item.fields for item in items):
        order = order.without_picture()
    drawn: dict[AnyHolder, str] = {holder: next(candidates) for holder in _without_code(items)}
    ready = _coded(items, drawn)
    file = printed(labels_of(ready, shown), order)
    return Laid(
        items=tuple(ready), new=frozenset(drawn.values()), shown=shown, order=order, file=file
    )


def lay_out_blanks(count: int, order: Order, candidates: Iterator[str]) -> Laid:
    """Lay out blank tags with new codes. Raises: LabelRefusal; Malformed for too many."""
    prints.refuse_length(count)
    codes = [next(candidates) for _ in range(count)]
    items, order = tuple(blank_item(code) for code in codes), order.without_picture()
    file = printed(labels_of(items), order)
    return Laid(items=items, new=frozenset(codes), shown=frozenset(), order=order, file=file)


def record(change: OpenChange, laid: Laid, chosen: str) -> PrintRun:
    """Record a run, and issue and bind its new codes. Raises: what `prints.record` raises."""
    setting = setting_of(laid.order, laid.file.content)
    return prints.record(change, chosen=chosen, setting=setting, labels=laid.to_print())


class FirstLook(Sequence[Label]):
    """The labels of items as a first look shows them, made only where they are looked at."""

    def __init__(self, items: Sequence[Item], shown: frozenset[str] = USUAL_FIELDS) -> None:
        self._items = items
        self._shown = shown

    @property
    def new_code_count(self) -> int:
        """Return how many codes would be issued."""
        blanks = sum(item.code == BLANK_CODE for item in self._items)
        return blanks + len(_without_code(self._items))

    @property
    def item_notes(self) -> list[str]:
        """Return what there is to say of the items, once each."""
        return list(dict.fromkeys(item.note for item in self._items if item.note))

    def __len__(self) -> int:
        return len(self._items)

    @overload
    def __getitem__(self, which: int) -> Label: ...

    @overload
    def __getitem__(self, which: slice) -> list[Label]: ...

    def __getitem__(self, which: int | slice) -> Label | list[Label]:
        if isinstance(which, int):
            return self[which : which + 1 or None][0]
        return labels_of(_stood_in(self._items[which]), self._shown)


def blank_look(count: int) -> FirstLook:
    """Return the first look at so many blank tags, all alike."""
    return FirstLook([blank_item(BLANK_CODE)] * min(count, LABELS_MAX + 1), frozenset())


def _stood_in(items: Iterable[Item]) -> list[Item]:
    """Return items for a first look: where no code is issued yet, all noughts."""
    listed = list(items)
    missing = dict.fromkeys(_without_code(listed), BLANK_CODE)
    return _coded(listed, missing) if missing else listed


def _coded(items: Sequence[Item], new: Mapping[AnyHolder, str]) -> list[Item]:
    """Return items with the codes that hang on their things now, and with new ones."""
    return with_codes(items, {**newest_codes(by_noun(holders(items))), **new})


def labels_of(items: Iterable[Item], shown: frozenset[str] = USUAL_FIELDS) -> list[Label]:
    """Return the labels of items that have their codes."""
    return [item.label(shown) for item in items]


def _without_code(items: Iterable[Item]) -> dict[AnyHolder, None]:
    """Return what needs a code, once each: a tray's plate carries the code of its box."""
    return dict.fromkeys(item.holder for item in items if item.needs_code)
