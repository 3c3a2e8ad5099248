"""Things by their noun: which table, which words, which page."""

from typing import Any

from django.db.models import Model

from records.models import TAGGED, Cable, Equipment, Line, Place, Point, Tag
from records.queries.names import address, cable_name, equipment_name, point_name

_MODELS: dict[str, type[Model]] = {
    "point": Point,
    "equipment": Equipment,
    "place": Place,
    "line": Line,
    "cable": Cable,
}


def model_of(noun: str) -> Any:
    """Return the model of a noun."""
    return _MODELS[noun]


def named(thing: Model) -> str:
    """Return what a thing is called in words."""
    if isinstance(thing, Point):
        return point_name(thing)
    if isinstance(thing, Equipment):
        return equipment_name(thing)
    if isinstance(thing, Place):
        return address(thing)
    if isinstance(thing, Cable):
        return cable_name(thing)
    return str(thing)


def tagged(tag: Tag) -> tuple[str, Model] | None:
    """Return the noun and the thing a tag hangs on, if any."""
    for noun in TAGGED:
        thing = getattr(tag, noun)
        if thing is not None:
            return noun, thing
    return None


def described(tag: Tag) -> str:
    """Return in words what a tag hangs on; empty for a blank tag."""
    found = tagged(tag)
    if found is None:
        return ""
    end = f"{tag.cable_end} end of " if tag.cable_end else ""
    return end + named(found[1])
