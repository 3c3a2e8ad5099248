"""What a print page is about, and what of it was sent or is usually chosen."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.http import Http404, QueryDict

from labels.choices import CHOICES
from labels.choosing import Scope, Wanted, scope_of
from labels.item import WHAT
from labels.standing import Standing
from records.web.whole import whole


def asked_scope(data: QueryDict) -> Scope | None:
    """Return the scope that a page was asked for; Http404 where there is no such thing."""
    for noun in CHOICES:
        if noun in data:
            scope = scope_of(noun, whole(str(data[noun])) or 0)
            if scope is None:
                raise Http404
            return scope
    return None


def sent_wanted(data: QueryDict) -> Wanted:
    """Return what was sent as wanted: label by label, or by sort and need where none is listed."""
    sorts = frozenset(data.getlist("what"))
    if "unlisted" in data:
        return Wanted(sorts=sorts, only_needed=data.get("choose") != "all")
    return Wanted(sorts=sorts, keys=frozenset(data.getlist("item")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One label that can be printed, and whether it is chosen."""

    standing: Standing
    is_chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The labels of one sort: how many, how many need printing, whether any is printed.

    `choices` are empty where there are too many to list.
    """

    what: str
    title: str
    is_chosen: bool
    count: int
    needed: int
    choices: tuple[Choice, ...]


def groups(found: Iterable[Standing], wanted: Wanted, *, is_listed: bool) -> Iterator[Group]:
    """Yield the sorts of labels that there are, in the order in which they are offered."""
    by_sort: dict[str, list[Standing]] = {}
    for each in found:
        by_sort.setdefault(each.item.what, []).append(each)
    for what, title in WHAT.items():
        if what in by_sort:
            of_sort = by_sort[what]
            yield Group(
                what=what,
                title=title,
                is_chosen=wanted.has_sort(what),
                count=len(of_sort),
                needed=sum(each.needs_printing for each in of_sort),
                choices=tuple(_choices(of_sort, wanted)) if is_listed else (),
            )


def _choices(of_sort: Iterable[Standing], wanted: Wanted) -> Iterator[Choice]:
    for each in of_sort:
        yield Choice(standing=each, is_chosen=wanted.picks(each))
