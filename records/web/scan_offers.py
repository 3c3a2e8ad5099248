"""What can be done with two labels scanned one after the other: join, patch, book, bind.

Only what could succeed is offered, each as a filled-in form; whether it does is for the verb.
"""

from collections.abc import Iterator
from itertools import product

from records.models import LegCondition, Point, Role
from records.queries.names import short_name
from records.queries.scans import Scanned, lines_of, points_of
from records.web.actions import Action
from records.web.links import do_url, url_of

PAIRS_MAX = 24
"""Pairs of points offered singly; of more, the form of joining lets one choose."""


def after_one(found: Scanned) -> Iterator[Action]:
    """Yield what can be done with one scanned thing."""
    if found.is_blank:
        code = found.key
        yield Action(label="Bind it", url=do_url("tags.bind", code=code), is_main=True)
        yield Action(label="Void it", url=do_url("tags.void", code=code))
        return
    yield Action(label="Open its page", url=url_of(found.noun, found.thing.pk), is_main=True)
    if isinstance(found.thing, Point):
        yield Action(label="Read a level", url=do_url("readings.read", point=found.thing.pk))
    elif found.noun == "place":
        yield Action(
            label="Install equipment", url=do_url("equipment.install", place=found.thing.pk)
        )


def after_two(one: Scanned, other: Scanned) -> list[Action]:
    """Return what can be done with two scanned things."""
    if one.is_blank or other.is_blank:
        return list(_bindings(one, other))
    return [*_bookings(one, other), *_joinings(one, other)]


def instead(one: Scanned, other: Scanned) -> Iterator[Action]:
    """Yield the pages of both, for when nothing can be done with the two."""
    for each in (one, other):
        if not each.is_blank:
            label = f"Open {each.name.partition(' (')[0]}"
            yield Action(label=label, url=url_of(each.noun, each.thing.pk))


def _bindings(one: Scanned, other: Scanned) -> Iterator[Action]:
    """Yield binding the blank tag of two to what the other hangs on."""
    blank, bound = (one, other) if one.is_blank else (other, one)
    if bound.is_blank:
        return
    end = bound.tag.cable_end if bound.tag else ""
    address = do_url(
        "tags.bind",
        noun=bound.noun,
        thing=bound.thing.pk,
        code=blank.key,
        cable_end=end or None,
    )
    yield Action(label=f"Bind {blank.key} to {bound.name}", url=address, is_main=True)


def _bookings(one: Scanned, other: Scanned) -> Iterator[Action]:
    for leg, home in ((one, other), (other, one)):
        point = leg.thing
        if not isinstance(point, Point) or point.condition != LegCondition.SPARE:
            continue
        for line in lines_of(home):
            yield Action(
                label=f"Book {short_name(point)} for line {line}",
                url=do_url("bookings.book", leg=point.pk, line=line.pk),
                is_main=True,
            )


def _joinings(one: Scanned, other: Scanned) -> Iterator[Action]:
    pairs = [
        (a, b)
        for a, b in product(points_of(one), points_of(other))
        if a.pk != b.pk and not (a.passage_id and a.passage_id == b.passage_id)
    ]
    if len(pairs) > PAIRS_MAX:
        fixed = pairs[0][0] if len({a.pk for a, _ in pairs}) == 1 else pairs[0][1]
        yield Action(label="Join: choose the points", url=do_url("joints.join", a=fixed.pk))
        return
    for a, b in pairs:
        said = "" if len(pairs) == 1 else f" {short_name(a)} and {short_name(b)}"
        yield Action(label=f"Join{said}", url=do_url("joints.join", a=a.pk, b=b.pk))
        if _takes_cord(a) and _takes_cord(b):
            yield Action(label=f"Patch{said}", url=do_url("joints.patch", a=a.pk, b=b.pk))


def _takes_cord(point: Point) -> bool:
    return point.equipment_id is not None and bool(point.polish) and point.role != Role.BACK


def nothing_to_do(one: Scanned, other: Scanned) -> str:
    """Say why nothing is offered for two scanned things."""
    if one.is_blank and other.is_blank:
        return "Both tags are blank. Bind one of them first."
    joined = [
        each.name for each in (one, other) if isinstance(each.thing, Point) and not points_of(each)
    ]
    if joined:
        name = joined[0].partition(" (")[0]
        return f"{name[:1].upper()}{name[1:]} is joined already. Part that joint first."
    return "Nothing is known to do with these two. Scan two points, or a leg and an outlet."
