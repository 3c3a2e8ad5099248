"""Which labels no longer say what is so, after a change: the tags to print and hang anew.

What a label says of a thing is its name, its place's, for a cable those of both ends. A line's
label says its identifier, which never changes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Q

from records.models import Tag
from records.queries.deltas import Delta, Turn
from records.queries.things import described

_SAID = {
    "equipment": {"name", "place_id"},
    "cable": {"name", "a_place_id", "b_place_id", "fibre_count"},
    "place": {"name"},
    "point": {"passage_id", "number"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StaleTag:
    """A tag whose label is wrong now, what it hangs on, and why."""

    code: str
    hangs_on: str
    why: str


def stale_tags(changed: Delta) -> list[StaleTag]:
    """Return the tags whose printed text a change made wrong, by code."""
    found: dict[str, StaleTag] = {}
    for noun, said in _SAID.items():
        altered = [key for key, turn in changed[noun].items() if said & turn.altered.keys()]
        for tag in _hanging_on(noun, altered):
            stale = StaleTag(code=tag.code, hangs_on=described(tag), why=f"{noun} altered")
            found.setdefault(tag.code, stale)
    found.update((each.code, each) for each in _voided(changed["tag"].values()))
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


def _voided(turns: Iterable[Turn]) -> Iterator[StaleTag]:
    for turn in turns:
        if turn.before and turn.after and turn.after["voided"] and not turn.before["voided"]:
            yield StaleTag(code=turn.after["code"], hangs_on="", why=turn.after["voided"])
