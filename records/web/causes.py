"""What the readings of a tree say: which element explains them, and what to check first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.dateparse import parse_date

from records.light.faults import Kind
from records.models import Place
from records.optics import bends
from records.queries.causes import Cause, Causes, causes
from records.queries.contents import is_large
from records.queries.trees_through import Tree, trees_through
from records.web.large_places import places_inside
from records.web.subjects import subject_of

TRIED = 8
"""Trees that are looked through for one with readings, where none was asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The candidates of one kind of fault, in the words of the page."""

    heading: str
    about: str
    causes: tuple[Cause, ...]


def causes_page(request: HttpRequest, noun: str, thing_id: int) -> HttpResponse:
    """Show what may explain the readings of a tree that a thing hangs in or a place has."""
    subject = subject_of(noun, thing_id)
    thing = subject.thing
    large = thing if isinstance(thing, Place) and is_large(thing) else None
    trees = [] if large else trees_through(thing)
    since = request.GET.get("since", "")
    chosen, found = _chosen(trees, request.GET.get("channel", ""), _midnight(since))
    context: dict[str, Any] = {
        "subject": subject,
        "crumbs": [*subject.around, subject.crumb],
        "trees": trees,
        "tree": chosen,
        "found": found,
        "groups": list(_groups(found)) if found else [],
        "source": bends.SOURCE,
        "since": since,
        "since_is_wrong": bool(since) and _midnight(since) is None,
    }
    if large:
        context |= places_inside(request, large)
    return render(request, "records/light/causes.html", context)


def _midnight(since: str) -> datetime | None:
    try:
        day = parse_date(since)
    except ValueError:
        return None
    return datetime.combine(day, time(), UTC) if day else None


def _chosen(
    trees: Sequence[Tree], asked: str, since: datetime | None
) -> tuple[Tree | None, Causes | None]:
    """Return the tree asked for, else the first that has readings, with what they say."""
    wanted = [tree for tree in trees if str(tree.channel_id) == asked] or trees[:TRIED]
    told = None
    for tree in wanted:
        found = causes(tree.channel_id, since=since)
        if found.read or found.outdated:
            return tree, found
        told = told or (tree, found)
    return told or (None, None)


_ABOUT = {
    Kind.STEP: "A joint, adapter, leg or splitter that loses more than it should.",
    Kind.FIBRE: "A fibre or cable that loses more, as when it is bent or pinched.",
    Kind.DEAD: "A break: all below it is dark.",
}


def _groups(found: Causes) -> Iterator[Group]:
    for kind, of_kind in (
        (Kind.STEP, found.steps),
        (Kind.FIBRE, found.fibres),
        (Kind.DEAD, found.dead),
    ):
        yield Group(heading=kind.capitalize(), about=_ABOUT[kind], causes=of_kind)
