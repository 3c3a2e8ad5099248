"""References to what earlier steps of a job make: in words, from words, and when steps are moved.

{"step": 1}                              step 1
{"step": 1, "port": "leg 3"}             leg 3 of step 1
{"step": 2, "fibre": 4, "end": "A"}      A end of fibre 4 of step 2
{"step": 3, "line": 1}                   line 1 of step 3
{"step": 4, "part": "far_cable"}         far cable of step 4
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from records.changes._made import Made, made_of
from records.models import Cable, Channel, Equipment, Joint, Line, Place, Point, Reading
from records.queries.moment import as_it_stood

Reference = dict[str, Any]
Thing = tuple[str, int]
"""A noun and an id."""

_WORDS = re.compile(
    r"(?:(?P<end>[AB])(?: end)? of fibre (?P<fibre>\d+) of "
    r"|line (?P<line>\d+) of "
    r"|(?P<port>[a-z ]+ \d+) of )?"
    r"(?:(?P<part>[a-z_ ]+) of )?"
    r"step (?P<step>\d{1,4})",
    re.IGNORECASE,
)

_NOUNS = {
    "a": "point",
    "b": "point",
    "leg": "point",
    "to": "point",
    "point": "point",
    "port": "point",
    "place": "place",
    "flats": "place",
    "parent": "place",
    "a_place": "place",
    "b_place": "place",
    "equipment": "equipment",
    "closure": "equipment",
    "stands_in": "equipment",
    "cable": "cable",
    "joint": "joint",
    "channel": "channel",
    "standby_for": "channel",
    "line": "line",
    "reading": "reading",
    "code": "tag",
}
"""What an argument of this name is the id of. Others, such as `entry`, name no thing of a step."""

_MODELS: dict[str, Any] = {
    "place": Place,
    "equipment": Equipment,
    "cable": Cable,
    "joint": Joint,
    "channel": Channel,
    "line": Line,
    "reading": Reading,
    "point": Point,
}


def noun_needed(argument: str, arguments: Mapping[str, Any]) -> str | None:
    """Return the noun of the thing that an argument names, None where it names none."""
    if argument == "thing":  # tags.bind says beside it what kind of thing
        return str(arguments.get("noun", ""))
    return _NOUNS.get(argument)


def in_words(reference: Mapping[str, Any]) -> str:
    """Return a reference as a person writes it; `from_words` reads it again."""
    words = f"step {reference.get('step')}"
    if "part" in reference:
        words = f"{str(reference['part']).replace('_', ' ')} of {words}"
    if "port" in reference:
        return f"{reference['port']} of {words}"
    if "fibre" in reference:
        return f"{reference.get('end', '')} end of fibre {reference['fibre']} of {words}"
    if "line" in reference:
        return f"line {reference['line']} of {words}"
    return words


def from_words(text: str) -> Reference | None:
    """Return the reference that a text is, None where it is none."""
    match = _WORDS.fullmatch(" ".join(text.split()))
    if match is None:
        return None
    told: Reference = {"step": int(match["step"])}
    if match["part"]:
        told["part"] = match["part"].casefold().replace(" ", "_")
    if match["fibre"]:
        told |= {"fibre": int(match["fibre"]), "end": match["end"].upper()}
    elif match["line"]:
        told["line"] = int(match["line"])
    elif match["port"]:
        told["port"] = match["port"]
    return told


def within(value: Any) -> Iterator[Reference]:
    """Yield the references in an argument's value."""
    if isinstance(value, Mapping):
        yield dict(value)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from within(each)


def renumbered(value: Any, new_number: Callable[[int], int]) -> Any:
    """Return an argument's value with its references leading to where the steps are now."""
    if isinstance(value, Mapping) and type(value.get("step")) is int:
        return {**value, "step": new_number(value["step"])}
    if isinstance(value, list | tuple):
        return [renumbered(each, new_number) for each in value]
    return value


def referable(made: Sequence[Made], change_number: int) -> dict[Thing, Reference]:
    """Return the reference of each thing that steps newly made in the open change `number`.

    Of equipment its ports too, of cables the ends of their fibres, of places their lines.
    """
    known = {(each["noun"], each["id"]): told for told, each in _things(made) if "noun" in each}
    old = _old(known, change_number)
    new = {thing: told for thing, told in known.items() if thing not in old}
    return {**new, **dict(_inside(new))}


def _things(made: Sequence[Made]) -> Iterator[tuple[Reference, Made]]:
    for number, each in enumerate(made, start=1):
        parts = each.get("parts")
        if parts is None:
            yield {"step": number}, each
        else:
            yield from (({"step": number, "part": name}, part) for name, part in parts.items())


def _old(known: Iterable[Thing], change_number: int) -> set[Thing]:
    """Return the things that the record had before: they have a name of their own."""
    listed = list(known)
    found: set[Thing] = set()
    with as_it_stood(change_number - 1):
        for noun, model in _MODELS.items():
            ids = [pk for each, pk in listed if each == noun]
            if ids:
                there = model.objects.filter(pk__in=ids).values_list("pk", flat=True)
                found |= {(noun, pk) for pk in there}
    return found


def _inside(new: Mapping[Thing, Reference]) -> Iterator[tuple[Thing, Reference]]:
    ids = {noun: [pk for each, pk in new if each == noun] for noun in _MODELS}
    for port in Point.objects.filter(equipment__in=ids["equipment"]).order_by("pk"):
        words = f"{port.get_role_display()} {port.number}"
        told = new["equipment", port.equipment_id or 0]
        yield _key(port), {**told, "port": words}
    ends = Point.objects.filter(passage__cable__in=ids["cable"]).select_related("passage")
    for end in ends.order_by("number", "side"):
        cable = end.passage.cable_id if end.passage else None
        told = new["cable", cable or 0]
        yield _key(end), {**told, "fibre": end.number, "end": end.role[:1]}
    counts: dict[int, int] = {}
    for line in Line.objects.filter(place__in=ids["place"]).order_by("pk"):
        counts[line.place_id] = counts.get(line.place_id, 0) + 1
        yield _key(line), {**new["place", line.place_id], "line": counts[line.place_id]}


def _key(thing: Any) -> Thing:
    made = made_of(thing)
    return made["noun"], made["id"]
