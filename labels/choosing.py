"""What is printed of one thing: the thing asked about, and which of its labels are wanted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from labels.choices import CHOICES, is_too_large
from labels.item import Item
from labels.standing import Standing, standings
from records.queries.things import named


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """A noun and one thing of it, from which labels are chosen."""

    noun: str
    thing: Any
    name: str

    @property
    def chosen(self) -> str:
        """Return in words what is chosen, as a run keeps it."""
        prefix = {"job": "job ", "label": "again: "}.get(self.noun, "")
        return f"{prefix}{self.name}"[:200]

    @property
    def is_too_large(self) -> bool:
        """Tell whether it holds more labels than are chosen from at once."""
        return is_too_large(self.thing)

    def items(self, cable_label: str = "") -> list[Item]:
        """Return what can be printed, in the order of a walk."""
        _model, found_of = CHOICES[self.noun]
        return found_of(self.thing, cable_label=cable_label)


def scope_of(noun: str, thing_id: int) -> Scope | None:
    """Return a thing as a scope, or nothing where there is no such thing."""
    model, _found_of = CHOICES[noun]
    thing = model.objects.filter(pk=thing_id).first()
    return None if thing is None else Scope(noun=noun, thing=thing, name=named(thing))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which labels of a thing are wanted: of some sorts, by their keys, or those needed.

    Sorts or keys that are None leave nothing out.
    """

    sorts: frozenset[str] | None = None
    keys: frozenset[str] | None = None
    only_needed: bool = False

    def has_sort(self, what: str) -> bool:
        """Tell whether labels of a sort are wanted."""
        return self.sorts is None or what in self.sorts

    def has_key(self, item: Item) -> bool:
        """Tell whether a label is wanted by its key, whatever its sort."""
        return self.keys is None or item.key in self.keys

    def picks(self, standing: Standing) -> bool:
        """Tell whether a label is wanted if its sort is."""
        return self.has_key(standing.item) and (not self.only_needed or standing.needs_printing)

    def of_standings(self, found: Iterable[Standing]) -> list[Item]:
        """Return the items that are wanted of labels whose standing is known."""
        return [each.item for each in found if self.has_sort(each.item.what) and self.picks(each)]

    def of_items(self, items: Iterable[Item]) -> Sequence[Item]:
        """Return the items that are wanted; how they stand is read only where it matters."""
        asked = [item for item in items if self.has_sort(item.what) and self.has_key(item)]
        return self.of_standings(standings(asked)) if self.only_needed else asked
