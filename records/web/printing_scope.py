"""What a print page is about: one thing, and the labels that can be printed of it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict
from django.shortcuts import get_object_or_404

from labels.choices import CHOICES, is_too_large
from labels.item import WHAT, Item
from labels.standing import NEEDS_PRINTING, Standing, standings
from records.queries.things import named
from records.web.forms.option import id_of


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
        """Tell whether it holds more labels than one page offers."""
        return is_too_large(self.thing)

    def standings(self, cable_label: str = "") -> list[Standing]:
        """Return what can be printed, and how the labels of it stand."""
        _model, found_of = CHOICES[self.noun]
        return standings(found_of(self.thing, cable_label=cable_label))


def scope_of(data: QueryDict) -> Scope | None:
    """Return the scope that a page was asked for; Http404 where there is no such thing."""
    for noun, (model, _items) in CHOICES.items():
        if noun in data:
            thing = get_object_or_404(model, pk=id_of(str(data[noun])) or 0)
            return Scope(noun=noun, thing=thing, name=named(thing))
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One label that can be printed, and whether it is chosen."""

    standing: Standing
    is_chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The labels of one sort, and whether any is printed."""

    what: str
    title: str
    is_chosen: bool
    choices: tuple[Choice, ...]

    @property
    def needed(self) -> int:
        """Return how many are missing or gone wrong."""
        return sum(each.standing.state in NEEDS_PRINTING for each in self.choices)


def usual_groups(found: Iterable[Standing], *, only_needed: bool) -> list[Group]:
    """Return what is chosen at first: all of it, or what needs printing."""
    return list(_groups(found, lambda _what: True, _chooses(only_needed=only_needed)))


def sent_groups(found: Iterable[Standing], data: QueryDict) -> list[Group]:
    """Return what was sent as chosen."""
    sorts, keys = set(data.getlist("what")), set(data.getlist("item"))
    if "unlisted" in data:
        is_item = _chooses(only_needed=data.get("choose") != "all")
        return list(_groups(found, lambda what: what in sorts, is_item))
    return list(_groups(found, lambda what: what in sorts, lambda each: each.item.key in keys))


def _chooses(*, only_needed: bool) -> Callable[[Standing], bool]:
    return lambda each: not only_needed or each.state in NEEDS_PRINTING


def _groups(found: Iterable[Standing], is_sort: Any, is_item: Any) -> Iterator[Group]:
    by_sort: dict[str, list[Standing]] = {}
    for each in found:
        by_sort.setdefault(each.item.what, []).append(each)
    for what, title in WHAT.items():
        if what in by_sort:
            yield Group(
                what=what,
                title=title,
                is_chosen=is_sort(what),
                choices=tuple(
                    Choice(standing=each, is_chosen=is_item(each)) for each in by_sort[what]
                ),
            )


def chosen_items(groups: Iterable[Group]) -> list[Item]:
    """Return the chosen items in the order of a walk."""
    items = [
        each.standing.item
        for group in groups
        if group.is_chosen
        for each in group.choices
        if each.is_chosen
    ]
    return sorted(items, key=lambda item: item.walk)
