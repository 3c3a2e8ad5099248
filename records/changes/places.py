"""Verbs for places: add, rename, retire, reinstate."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from django.db.models import F, Q

from records.changes import _search, lines
from records.changes._checks import (
    choice,
    existing,
    first_twin,
    named_alike,
    present_places,
    text,
    whole,
)
from records.changes._transaction import OpenChange, for_many, verb
from records.changes.refusals import Malformed, NameTaken, Refusal
from records.models import Equipment, Noun, Place, PlaceKind
from records.queries.engine import ids, in_ids, rows
from records.queries.names import address

STOREYS = (-20, 200)
"""Floors a building can have, ground floor 0 (common practice)."""

DEPTH_MAX = 51
"""Places inside one another: what the path of a place has room for."""


class PlaceInUse(Refusal):
    """A place that can't be retired while things stand in it."""

    code = "place_in_use"


class NotRetired(Refusal):
    """A bringing back of a place that is there, or inside one that is not."""

    code = "not_retired"


@verb
def add(
    change: OpenChange,
    *,
    kind: str,
    name: str,
    parent: int | None = None,
    storey: int | None = None,
    note: str = "",
) -> Place:
    """Add a place inside another, or as a new estate at the top.

    A dwelling (flat, house, unit) gets its first line at once.
    Raises: Malformed, Missing, NameTaken, PlaceRetired.
    """
    wanted = NewPlace(kind=kind, name=name, parent=parent, storey=storey, note=note)
    (place,) = add_all(change, [wanted])
    change.say(f"added {place.get_kind_display()} {address(place)}")
    return place


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPlace:
    """A place to add: see `add`."""

    kind: str
    name: str
    parent: int | None = None
    storey: int | None = None
    note: str = ""


@for_many
def add_all(change: OpenChange, wanted: Sequence[NewPlace]) -> list[Place]:
    """Add many places inside places that are there. Raises: what `add` raises."""
    for each in wanted:
        choice(each.kind, PlaceKind.values, field="kind")
    names = [text(each.name, 80, field="name", needed=True) for each in wanted]
    parents = {each.parent for each in wanted if each.parent is not None}
    known = present_places(sorted(parents), field="parent") if parents else {}
    above = [None if each.parent is None else known[each.parent] for each in wanted]
    for around in known.values():
        _refuse_unfit(around)
    _refuse_twins(list(zip(above, names, strict=True)))
    for each in wanted:
        if each.storey is not None:
            whole(each.storey, *STOREYS, field="storey", noun="storey")

    added = [
        Place(
            path=path,
            depth=len(path) // Place.steplen,
            kind=each.kind,
            name=name,
            storey=each.storey,
            note=text(each.note, 300, field="note"),
        )
        for each, name, path in zip(wanted, names, _next_paths(above), strict=True)
    ]
    Place.objects.bulk_create(added)
    _count_children(each.parent for each in wanted if each.parent is not None)
    _search.index_places(added)
    lines.open_all(change, [lines.NewLine(each.pk) for each in added if each.is_dwelling])
    return added


def _refuse_unfit(above: Place) -> None:
    """Refuse to put anything inside a dwelling, or deeper than paths can say."""
    if above.is_dwelling:
        raise Malformed(
            f"{address(above)} is a {above.kind}; nothing can be put inside it.",
            hint="Choose the floor or building around it.",
            field="parent",
        )
    if above.depth >= DEPTH_MAX:
        raise Malformed(
            f"{above} lies inside {above.depth - 1} places already.",
            hint="Choose a place further out.",
            field="parent",
        )


def _refuse_twins(wanted: Sequence[tuple[Place | None, str]]) -> None:
    """Refuse two places of one name in the same place. Raises: NameTaken."""
    paths = [around.path if around else "" for around, _name in wanted]
    beside = reduce(or_, (_children(path) for path in dict.fromkeys(paths)))
    names = [name for _around, name in wanted]
    there = named_alike(Place.objects.filter(beside), names).values_list("path", "name")
    at = first_twin(
        list(zip(paths, names, strict=True)),
        ((path[: -Place.steplen], name) for path, name in there),
    )
    if at is not None:
        above, name = wanted[at]
        around = f" in {address(above)}" if above else ""
        raise NameTaken(
            f"There is already a place called {name}{around}.",
            hint="Use that one, or give this one another name.",
            field="name",
        )


def _children(path: str) -> Q:
    """Return the condition of standing right inside the place of a path, at the top if empty."""
    first, last = _ends_below(path)
    return Q(depth=len(path) // Place.steplen + 1, path__gte=first, path__lte=last)


def _ends_below(path: str) -> tuple[str, str]:
    return path + Place.alphabet[0] * Place.steplen, path + Place.alphabet[-1] * Place.steplen


def _next_paths(above: Sequence[Place | None]) -> list[str]:
    """Return the path of each new place, behind those that are in the same place already."""
    parents = {around.pk for around in above if around}
    latest = (
        dict(rows(f"{_LATEST_INSIDE} {in_ids('parent.id')}", [*_ends_below(""), ids(parents)]))
        if parents
        else {}
    )
    if None in above:
        top = Place.objects.filter(depth=1).order_by("-path")
        latest[""] = top.values_list("path", flat=True).first()
    found = []
    for around in above:
        parent = around.path if around else ""
        # Treebeard's own step to the next path; the first inside is the one after none.
        before = Place(path=latest[parent] or _ends_below(parent)[0])
        latest[parent] = before._inc_path()  # noqa: SLF001
        found.append(latest[parent])
    return found


_LATEST_INSIDE = """
SELECT parent.path,
       (SELECT child.path FROM records_place child
        WHERE child.depth = parent.depth + 1
          AND child.path BETWEEN parent.path || %s AND parent.path || %s
        ORDER BY child.path DESC LIMIT 1)
FROM records_place parent WHERE
"""


def _count_children(parents: Iterable[int]) -> None:
    more: dict[int, list[int]] = {}
    for parent, count in Counter(parents).items():
        more.setdefault(count, []).append(parent)
    for count, those in more.items():
        Place.objects.filter(pk__in=those).update(numchild=F("numchild") + count)


@verb
def rename(change: OpenChange, place: int, *, name: str) -> Place:
    """Give a place another name. Raises: Malformed, Missing, NameTaken."""
    found: Place = existing(Place.objects, place, field="place")
    name = text(name, 80, field="name", needed=True)
    before = address(found)
    if name.casefold() != found.name.casefold():
        _refuse_twins([(Place.objects.get_parent(found), name)])

    Place.objects.filter(pk=place).update(name=name)
    found.name = name
    _search.index_below(found)
    change.say(f"renamed {before} to {name}")
    return found


@verb
def retire(change: OpenChange, place: int) -> None:
    """Mark a place and all inside it as no longer there. Raises: Missing, PlaceInUse."""
    found = existing(Place.objects, place, field="place")
    inside = Place.objects.filter(path__startswith=found.path)
    standing = Equipment.objects.filter(place__in=inside).first()
    if standing is not None:
        raise PlaceInUse(
            f"{address(found)} still holds {standing.name}.",
            hint="Move or remove the equipment first.",
            subjects=(place,),
        )
    lines.refuse_promised(inside, address(found))

    inside.update(retired=True)
    for each in inside:
        _search.forget(Noun.PLACE, each.pk)
    change.say(f"retired {address(found)}")


@verb
def reinstate(change: OpenChange, place: int) -> Place:
    """Mark a retired place and all inside it as there again. Raises: Missing, NotRetired."""
    found: Place = existing(Place.objects, place, field="place")
    around = Place.objects.get_ancestors(found).filter(retired=True).first()
    if around is not None:
        raise NotRetired(
            f"{address(found)} lies in {around}, which is retired too.",
            hint=f"Bring {around} back, with all inside it.",
            field="place",
            subjects=(around.pk,),
        )
    if not found.retired:
        raise NotRetired(
            f"{address(found)} is not retired.", hint="Check which place is meant.", field="place"
        )

    Place.objects.filter(path__startswith=found.path).update(retired=False)
    found.retired = False
    _search.index_below(found)
    change.say(f"reinstated {address(found)}")
    return found
