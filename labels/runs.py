"""Runs of labels: which things of the record get one, with which codes.

A run is chosen by where the things are: a place with all inside it, an equipment, a cable, a
single port. In a home only the line's identifier is shown, on the outlet, and the terminal's own
name; a name that repeats an address is left out (neutral_names.py). Codes are read from tags, or
issued and bound in one change.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from django.db.models import Q, QuerySet

from labels.design import KINDS, Label, label
from labels.items import WHAT, Item, boxes, cable_ends, cupboards, ports
from records.changes import OpenChange, tags
from records.models import Cable, Equipment, Place, Point, Tag
from records.queries.words import natural

BLANK_CODE: Final = "00000000"
"""Stands on a first look for a code that is not issued yet; a true code, never issued."""

WIDE_CODE: Final = "WWWMWWWW"
"""As wide as a code can be, to see whether a label has room before codes are issued."""


class NothingMissing(Exception):  # noqa: N818 (an answer, not an error)
    """All items have their codes: someone else issued them just now."""


def items_in(place: Place) -> list[Item]:
    """Return what can have a label in a place and all inside it."""
    inside = Place.objects.filter(path__startswith=place.path, retired=False)
    found = _items(
        places=inside,
        equipment=Equipment.objects.filter(place__in=inside),
        points=Point.objects.filter(equipment__place__in=inside),
        cables=Cable.objects.filter(Q(a_place__in=inside) | Q(b_place__in=inside)),
        ends_in=place,
    )
    order = list(WHAT)
    return sorted(found, key=lambda item: (order.index(item.what), natural(item.where)))


def items_of(equipment: Equipment) -> list[Item]:
    """Return what can have a label of an equipment: itself and its ports."""
    return _items(
        equipment=Equipment.objects.filter(pk=equipment.pk),
        points=Point.objects.filter(equipment=equipment),
    )


def items_of_point(point: Point) -> list[Item]:
    """Return the label of one port; none for a fibre end, whose cable has labels."""
    return _items(points=Point.objects.filter(pk=point.pk))


def items_of_cable(cable: Cable) -> list[Item]:
    """Return the labels of both ends of a cable."""
    return _items(cables=Cable.objects.filter(pk=cable.pk))


def coded(items: Iterable[Item]) -> list[Item]:
    """Return the items with the codes bound to their things now, the newest of several."""
    listed = list(items)
    wanted: dict[str, set[int]] = {}
    for item in listed:
        wanted.setdefault(item.noun, set()).add(item.thing_id)
    bound: dict[str, str] = {}
    for noun, ids in wanted.items():
        for tag in Tag.objects.filter(**{f"{noun}__in": ids}).order_by("pk"):
            bound[f"{noun}-{getattr(tag, f'{noun}_id')}{tag.cable_end}"] = tag.code
    return [replace(item, code=bound.get(item.key, "")) for item in listed]


def issue_missing(change: OpenChange, items: Iterable[Item], candidates: Iterable[str]) -> None:
    """Issue and bind codes for the items that have none, within one change.

    Asked anew inside the change's turn, so that two who print the same get the same codes.
    Raises: NothingMissing; Malformed where the candidates run out.
    """
    missing = [item for item in coded(items) if item.needs_code]
    if not missing:
        raise NothingMissing
    issued = tags.issue(change, count=len(missing), candidates=candidates)
    for item, tag in zip(missing, issued, strict=True):
        tags.bind(change, tag.code, noun=item.noun, thing=item.thing_id, cable_end=item.cable_end)


def labels_of(
    items: Iterable[Item], *, has_owner: bool = True, stand_in: str = BLANK_CODE
) -> list[Label]:
    """Return the labels of some items; `stand_in` is shown where no code is issued yet.

    Without `has_owner` a port's label leaves out the name of its box.
    """
    return [_label(item, has_owner=has_owner, stand_in=stand_in) for item in items]


def _label(item: Item, *, has_owner: bool, stand_in: str) -> Label:
    fields = dict(item.fields)
    if not has_owner:
        fields.pop("equipment", None)
    code = item.code or stand_in if KINDS[item.kind].has_code else ""
    return label(item.kind, code=code, diameter_mm=item.diameter_mm, **fields)


def _items(
    *,
    places: "QuerySet[Place] | None" = None,
    equipment: "QuerySet[Equipment] | None" = None,
    points: "QuerySet[Point] | None" = None,
    cables: "QuerySet[Cable] | None" = None,
    ends_in: Place | None = None,
) -> list[Item]:
    """Return the items of some rows, each with its code."""
    found: list[Item] = []
    if places is not None:
        found.extend(cupboards(places))
    if equipment is not None:
        found.extend(boxes(equipment))
    if points is not None:
        found.extend(ports(points))
    if cables is not None:
        found.extend(cable_ends(cables, ends_in))
    return coded(found)
