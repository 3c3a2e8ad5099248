"""What labels are chosen by: a place, an equipment, a cable, a port, a line, a job."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from operator import itemgetter
from typing import Any, Final

from django.db.models import Q

from labels.cautions import caution_items
from labels.item import Item
from labels.items import Things, items_of
from records.models import Cable, Equipment, Job, Line, Place, Point, PrintedLabel
from records.models.tag_code import grouped
from records.queries.deltas import delta
from records.queries.legs import after_all_inside
from records.queries.prints import sort_of, subject_of
from records.queries.things import tagged

ITEMS_MAX = 10_000
"""Ports and cables of a place from which one run is chosen; of a larger one, a part first."""


def place_items(place: Place, *, cable_label: str = "") -> list[Item]:
    """Return what can have a label in a place and all inside it."""
    inside = Place.objects.filter(
        path__gte=place.path, path__lt=after_all_inside(place), retired=False
    )
    things = Things(
        places=inside,
        equipment=Equipment.objects.filter(place__in=inside),
        points=Point.objects.filter(equipment__place__in=inside),
        cables=Cable.objects.filter(Q(a_place__in=inside) | Q(b_place__in=inside)),
        ends_in=place,
        cable_label=cable_label,
    )
    return _in_order([*items_of(things), *caution_items(inside)])


def is_too_large(thing: object) -> bool:
    """Tell whether a place holds more ports and cables than one run is chosen from."""
    if not isinstance(thing, Place):
        return False
    path, after = thing.path, after_all_inside(thing)
    ports = Point.objects.filter(
        equipment__place__path__gte=path, equipment__place__path__lt=after
    )
    cables = Cable.objects.filter(a_place__path__gte=path, a_place__path__lt=after)
    return ports.count() + cables.count() > ITEMS_MAX


def equipment_items(equipment: Equipment, *, cable_label: str = "") -> list[Item]:
    """Return what can have a label of an equipment: itself, its trays and its ports."""
    things = Things(
        equipment=Equipment.objects.filter(pk=equipment.pk),
        points=Point.objects.filter(equipment=equipment),
        cable_label=cable_label,
    )
    return _in_order(items_of(things))


def point_items(point: Point, *, cable_label: str = "") -> list[Item]:
    """Return the label of one port; of a fibre end, the labels of its cable's ends."""
    if point.passage is not None and point.passage.cable is not None:
        return cable_items(point.passage.cable, cable_label=cable_label)
    return _in_order(items_of(Things(points=Point.objects.filter(pk=point.pk))))


def cable_items(cable: Cable, *, cable_label: str = "") -> list[Item]:
    """Return the labels of both ends of a cable."""
    things = Things(cables=Cable.objects.filter(pk=cable.pk), cable_label=cable_label)
    return _in_order(items_of(things))


def line_items(line: Line, *, cable_label: str = "") -> list[Item]:  # noqa: ARG001 (all take it)
    """Return the label of a line's outlet in the home."""
    return _in_order(items_of(Things(lines=Line.objects.filter(pk=line.pk))))


def thing_items(things: Things) -> list[Item]:
    """Return the labels of just these things."""
    return _in_order(items_of(things))


def job_items(job: Job, *, cable_label: str = "") -> list[Item]:
    """Return the labels of what a job's recorded steps made or altered."""
    touched: dict[str, set[Any]] = {}
    for number in job.changes.values_list("number", flat=True):
        changed = delta(number)
        for noun in ("place", "equipment", "cable", "line"):
            touched.setdefault(noun, set()).update(changed[noun])
        points = touched.setdefault("point", set())
        points.update(changed["jointend"])
        points.update(turn.row["leg_id"] for turn in changed["booking"].values())
        points.update(changed["point"])
    things = Things(
        places=Place.objects.filter(pk__in=touched.get("place", ())),
        equipment=Equipment.objects.filter(pk__in=touched.get("equipment", ())),
        points=Point.objects.filter(pk__in=touched.get("point", ())),
        cables=Cable.objects.filter(pk__in=touched.get("cable", ())),
        lines=Line.objects.filter(pk__in=touched.get("line", ())),
        cable_label=cable_label,
    )
    return _in_order(_once(items_of(things)))


def label_items(printed: PrintedLabel, *, cable_label: str = "") -> list[Item]:
    """Return the item of a label that was printed before, as it would be printed now.

    Nothing where its thing is gone, or its blank tag is bound or voided.
    """
    if not printed.noun:
        tag = printed.tag
        return [blank_item(tag.code)] if tag and not tag.voided and tagged(tag) is None else []
    model, found_of = CHOICES[printed.noun]
    thing = model.objects.filter(pk=printed.thing).first()
    if thing is None:
        return []
    kind = printed.kind if sort_of(printed.kind) == "cable" else cable_label
    wanted = subject_of(printed)
    return [item for item in found_of(thing, cable_label=kind) if item.subject == wanted]


def blank_item(code: str) -> Item:
    """Return a blank tag as an item."""
    return Item(
        what="blank",
        kind="blank",
        noun="",
        thing_id=None,
        name=f"blank tag {grouped(code)}",
        where="",
        place_id=None,
        fields={},
        code=code,
    )


CHOICES: Final[Mapping[str, tuple[type[Any], Callable[..., list[Item]]]]] = {
    "place": (Place, place_items),
    "equipment": (Equipment, equipment_items),
    "cable": (Cable, cable_items),
    "point": (Point, point_items),
    "line": (Line, line_items),
    "job": (Job, job_items),
    "label": (PrintedLabel, label_items),
}
"""What labels can be chosen by, and how their items are found."""


def _once(items: Iterable[Item]) -> Iterator[Item]:
    """Yield each item once: a line may come with its outlet and by itself."""
    yield from {item.key: item for item in items}.values()


def _in_order(items: Iterable[Item]) -> list[Item]:
    """Return items in the order of a walk."""
    return sorted(items, key=itemgetter(Item._fields.index("walk")))
