"""What a step makes, as plain data, and how a later step refers to it."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Model

from records.models import Line, Point, Role, Tag

Made = dict[str, Any]
"""`{"noun": "cable", "id": 7}`, `{"parts": {"far_cable": {...}}}` of several, or `{}`."""

_PORT = re.compile(r"(?P<role>[A-Za-z ]+?)(?: (?P<number>\d+))?")
_SELECTORS = frozenset({"step", "part", "port", "fibre", "end", "line"})


def made_of(result: Any) -> Made:
    """Return as plain data what a verb returned."""
    if isinstance(result, Tag):
        return {"noun": "tag", "id": result.pk, "code": result.code}
    if isinstance(result, Model):
        return {"noun": str(result._meta.model_name), "id": result.pk}
    if isinstance(result, tuple) and hasattr(result, "_asdict"):
        parts = {name: made_of(each) for name, each in result._asdict().items()}
        return {"parts": {name: each for name, each in parts.items() if each}}
    return {}


def resolved(reference: Mapping[str, Any], made: Sequence[Made], needed: str | None) -> Any:
    """Return the id that a reference stands for. Raises: ValueError in words."""
    thing = _thing(reference, made)
    if "port" in reference:
        thing = _port(thing, str(reference["port"]))
    elif "fibre" in reference:
        thing = _fibre_end(thing, reference["fibre"], str(reference.get("end", "")))
    elif "line" in reference:
        thing = _line(thing, reference["line"])
    if thing["noun"] != needed:
        wanted = _one(needed) if needed else "no thing of a step"
        given = _one(thing["noun"])
        raise ValueError(f"it takes {wanted}; what step {reference['step']} gives is {given}.")
    return thing["code"] if needed == "tag" else thing["id"]


def _thing(reference: Mapping[str, Any], made: Sequence[Made]) -> Made:
    number = reference["step"]
    unknown = sorted(set(reference) - _SELECTORS)
    if unknown:
        raise ValueError(f"a reference has no '{unknown[0]}'.")
    thing: Made = made[number - 1]
    parts = thing.get("parts")
    if parts is not None:
        part = reference.get("part")
        if part not in parts:
            raise ValueError(f"step {number} makes several things: {', '.join(parts)}.")
        return dict(parts[part])
    if "noun" not in thing:
        raise ValueError(f"step {number} makes nothing that can be referred to.")
    return thing


def _port(thing: Made, words: str) -> Made:
    _expect(thing, "equipment", "port")
    match = _PORT.fullmatch(words.strip())
    roles = {label.casefold(): role for role, label in Role.choices}
    role = roles.get(match["role"].casefold()) if match else None
    if match is None or role is None:
        raise ValueError(f"'{words}' names no port; write it like 'leg 3' or 'input 1'.")
    number = int(match["number"] or 1)
    port = Point.objects.filter(equipment=thing["id"], role=role, number=number).first()
    if port is None:
        raise ValueError(f"the equipment has no {words}.")
    return made_of(port)


def _fibre_end(thing: Made, number: Any, end: str) -> Made:
    _expect(thing, "cable", "fibre")
    role = {"A": Role.A_END, "B": Role.B_END}.get(end.upper())
    if role is None or type(number) is not int:
        raise ValueError("a fibre's end is given as its number and end A or B.")
    point = Point.objects.filter(passage__cable=thing["id"], number=number, role=role).first()
    if point is None:
        raise ValueError(f"the cable has no fibre {number}.")
    return made_of(point)


def _line(thing: Made, number: Any) -> Made:
    _expect(thing, "place", "line")
    lines = list(Line.objects.filter(place=thing["id"]).order_by("pk"))
    if type(number) is not int or not 1 <= number <= len(lines):
        raise ValueError(f"the place has {len(lines)} lines, and no line {number!r}.")
    return made_of(lines[number - 1])


def _expect(thing: Made, noun: str, what: str) -> None:
    if thing["noun"] != noun:
        raise ValueError(f"{_one(thing['noun'])} has no {what}.")


def _one(noun: str) -> str:
    return noun if noun == "equipment" else f"a {noun}"
