"""Which labels no longer say what is so, after a change: the tags to print and hang anew.

What a label says of a thing is its name, its place's, for a cable those of both ends. A line's
label says its identifier, which never changes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Q

from records.models import Tag
from records.queries.deltas import Delta, Turn
from records.queries.moment import as_it_stood
from records.queries.things import described

_SAID = {
    "equipment": {"name", "place_id"},
    "cable": {"name", "a_place_id", "b_place_id", "fibre_count"},
    "place": {"name"},
    "point": {"passage_id", "number"},
}
_WHY = {
    "equipment": "the equipment has another name, or stands elsewhere",
    "cable": "the cable has another name, other ends or other fibres",
    "place": "the place has another name",
    "point": "the port or fibre end has another number",
}
# What the name of a tagged thing is made of.
_TOLD_WITH = ("equipment__place", "point__equipment__place", "place", "line", "cable")


@dataclass(frozen=True, slots=True, kw_only=True)
class StaleTag:
    """A tag whose label is wrong now, what it hangs on (or hung on, if it is void), and why."""

    code: str
    hangs_on: str
    why: str


def stale_tags(number: int, changed: Delta) -> list[StaleTag]:
    """Return the tags whose printed text change `number` made wrong, by code."""
    found: dict[str, StaleTag] = {}
    for noun, said in _SAID.items():
        altered = [key for key, turn in changed[noun].items() if said & turn.altered.keys()]
        for tag in _hanging_on(noun, altered):
            stale = StaleTag(code=tag.code, hangs_on=described(tag), why=_WHY[noun])
            found.setdefault(tag.code, stale)
    found.update((each.code, each) for each in _voided(number, changed["tag"].values()))
    return sorted(found.values(), key=lambda stale: stale.code)


def _hanging_on(noun: str, keys: list[int]) -> Iterator[Tag]:
    if not keys:
        return
    hanging = {
        "equipment": Q(equipment__in=keys) | Q(point__equipment__in=keys),
        "cable": Q(cable__in=keys) | Q(point__passage__cable__in=keys),
        "place": (
            Q(place__in=keys)
            | Q(equipment__place__in=keys)
            | Q(point__equipment__place__in=keys)
            | Q(cable__a_place__in=keys)
            | Q(cable__b_place__in=keys)
        ),
        "point": Q(point__in=keys),
    }
    yield from Tag.objects.filter(hanging[noun]).distinct().order_by("code")


def _voided(number: int, turns: Iterable[Turn]) -> list[StaleTag]:
    """Return the tags that were voided, each with what it hung on before."""
    why = {
        turn.after["code"]: turn.after["voided"]
        for turn in turns
        if turn.before and turn.after and turn.after["voided"] and not turn.before["voided"]
    }
    if not why:
        return []
    with as_it_stood(number - 1):
        return [
            StaleTag(code=tag.code, hangs_on=described(tag), why=why[tag.code])
            for tag in Tag.objects.filter(code__in=why).select_related(*_TOLD_WITH)
        ]
