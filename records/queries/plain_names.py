"""What a plain name means: the things of one noun that are called just so, and nothing near it.

A place, equipment or cable is called by its own name, which may be followed or led by names of
places around it: `S1`, `S1 (Block A)`, `Block A, Flat 12`. A point is called by what it belongs
to: `leg 3 of S1`, `A end of fibre 2 of D12`. A joint is called by a point it joins, a line by its
identifier or its home, a channel by its PON port, and anything by the code of its tag. A retired
place has no name here, as another may have it by now.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from django.db.models import Q

from records.models import (
    FIBRE_ENDS,
    Cable,
    Channel,
    Equipment,
    JointEnd,
    Line,
    Place,
    Point,
    Role,
    Tag,
)
from records.models.tag_code import TagCodeError, parse
from records.queries.find import find
from records.queries.names import addresses, cable_name, named_points
from records.queries.things import tagged
from records.queries.words import normalised

LIMIT = 300
"""How many things of a name are looked at."""

_ROLE = (
    r"(?P<role>pon port|pon|input|leg|common|branch|adapter front|adapter back|front|back"
    r"|terminal port|port)"
)
_PORT = re.compile(_ROLE + r"(?: (?P<number>\d{1,9}))? of (?P<owner>.+)")
_PORT_LAST = re.compile(r"(?P<owner>.+?) " + _ROLE + r" (?P<number>\d{1,9})")
_FIBRE = re.compile(r"(?P<end>[ab])(?: end)? of fibre (?P<number>\d{1,9}) of (?P<owner>.+)")
_FIBRE_LAST = re.compile(r"(?P<owner>.+?) fibre (?P<number>\d{1,9}) (?P<end>[ab])(?: end)?")
_ROLES = {
    "pon port": (Role.PON,),
    "pon": (Role.PON,),
    "input": (Role.INPUT,),
    "leg": (Role.LEG,),
    "common": (Role.COMMON,),
    "branch": (Role.BRANCH,),
    "front": (Role.FRONT,),
    "adapter front": (Role.FRONT,),
    "back": (Role.BACK,),
    "adapter back": (Role.BACK,),
    "terminal port": (Role.TERMINAL,),
    "port": (Role.PON, Role.TERMINAL, Role.FRONT),
}


class Meant(NamedTuple):
    """A thing that a name means, and what it is called in full."""

    id: int
    name: str


def meant(noun: str, text: str) -> list[Meant]:
    """Return the things of a noun that a name means: none, just one, or all it could be."""
    found = _by_tag(noun, text) or _BY_NOUN[noun](text)
    return sorted(set(found), key=lambda each: each.name)


def _by_tag(noun: str, text: str) -> list[Meant]:
    try:
        tag = Tag.objects.filter(code=parse(text)).first()
    except TagCodeError:
        return []
    hung = tagged(tag) if tag else None
    return [Meant(hung[1].pk, text)] if hung and hung[0] == noun else []


def _parts(text: str) -> list[str]:
    """Return the names that a text is made of, wherever it puts commas and brackets."""
    return [part for each in re.split(r"[,()]", text) if (part := normalised(each))]


def _is_called(text: str, own_name: str, where: str) -> bool:
    """Tell whether a text is a thing's own name, with none but places around it beside."""
    said, own = _parts(text), _parts(own_name)
    around = _parts(where)
    for start in range(len(said) - len(own) + 1):
        if said[start : start + len(own)] == own:
            rest = said[:start] + said[start + len(own) :]
            return all(each in around for each in rest)
    return False


def _ids(noun: str, text: str) -> list[int]:
    return [each.id for each in find(text, limit=LIMIT) if each.noun == noun]


def _places(text: str) -> list[Meant]:
    found = Place.objects.filter(pk__in=_ids("place", text))
    known = addresses(found)
    return [
        Meant(each.pk, known[each.pk])
        for each in found
        if _is_called(text, each.name, known[each.pk].removesuffix(each.name))
    ]


def _equipment(text: str) -> list[Meant]:
    found = Equipment.objects.filter(pk__in=_ids("equipment", text)).select_related("place")
    known = addresses({each.place for each in found})
    return [
        Meant(each.pk, f"{each.name} ({known[each.place_id]})")
        for each in found
        if _is_called(text, each.name, known[each.place_id])
    ]


def _cables(text: str) -> list[Meant]:
    listed = _ids("cable", text)
    found = Cable.objects.filter(pk__in=listed).select_related("a_place", "b_place")
    known = addresses({place for each in found for place in (each.a_place, each.b_place)})
    return [
        Meant(each.pk, cable_name(each))
        for each in found
        if _is_called(text, each.name, f"{known[each.a_place_id]}, {known[each.b_place_id]}")
        or normalised(text) == normalised(cable_name(each))
    ]


def _lines(text: str) -> list[Meant]:
    bare = re.sub(r"^line ", "", text.strip(), flags=re.IGNORECASE)
    homes = {place.id: place.name for place in _places(text)}
    found = Line.objects.filter(Q(identifier__iexact=bare) | Q(place__in=homes))
    known = addresses({each.place for each in found.select_related("place")})
    return [Meant(each.pk, f"line {each} ({known[each.place_id]})") for each in found]


def _points(text: str) -> list[Meant]:
    ids = list(_point_ids(text))
    return [Meant(pk, name) for pk, name in named_points(ids).items()]


def _point_ids(text: str) -> Iterator[int]:
    plain = " ".join(text.split())
    lower = plain.casefold()
    fibre = _FIBRE.fullmatch(lower) or _FIBRE_LAST.fullmatch(lower)
    if fibre:
        role = Role.A_END if fibre["end"] == "a" else Role.B_END
        owners = [each.id for each in _cables(fibre["owner"])]
        ends = Point.objects.filter(passage__cable__in=owners, role=role, number=fibre["number"])
        yield from ends.values_list("pk", flat=True)
    for pattern in (_PORT, _PORT_LAST):
        port = pattern.fullmatch(lower)
        if port:
            owners = [each.id for each in _equipment(port["owner"])]
            ports = Point.objects.filter(
                equipment__in=owners, role__in=_ROLES[port["role"]], number=port["number"] or 1
            )
            yield from ports.values_list("pk", flat=True)


def ports_by_name(texts: Iterable[str]) -> dict[str, list[Meant]]:
    """Return the ports that some of many names mean, as `meant` does, looking each owner up once.

    Not of names that may mean something else as well, such as a tag or a fibre's end.
    """
    said = {text: port for text in set(texts) if (port := _only_a_port(text))}
    owners = {owner: _equipment(owner) for owner in {port["owner"] for port in said.values()}}
    ids = {each.id for found in owners.values() for each in found}
    at: dict[tuple[int | None, str, int], int] = {
        (each.equipment_id, each.role, each.number): each.pk
        for each in Point.objects.filter(equipment__in=ids)
    }
    found = {text: list(_found(port, owners[port["owner"]], at)) for text, port in said.items()}
    names = named_points({pk for each in found.values() for pk in each})
    return {text: [Meant(pk, names[pk]) for pk in each] for text, each in found.items()}


def _only_a_port(text: str) -> re.Match[str] | None:
    """Return how a text names a port, None where it doesn't or not it alone."""
    try:
        parse(text)
    except TagCodeError:
        pass
    else:
        return None
    lower = " ".join(text.split()).casefold()
    if _FIBRE.fullmatch(lower) or _FIBRE_LAST.fullmatch(lower):
        return None
    first, last = _PORT.fullmatch(lower), _PORT_LAST.fullmatch(lower)
    return None if first and last else first or last


def _found(
    port: re.Match[str],
    owners: Iterable[Meant],
    at: Mapping[tuple[int | None, str, int], int],
) -> Iterator[int]:
    number = int(port["number"] or 1)
    for owner in owners:
        for role in _ROLES[port["role"]]:
            if (owner.id, role, number) in at:
                yield at[owner.id, role, number]


def _ports(text: str) -> list[Meant]:
    ids = [each.id for each in _points(text)]
    kept = Point.objects.filter(pk__in=ids).exclude(role__in=FIBRE_ENDS)
    return [Meant(pk, name) for pk, name in named_points(each.pk for each in kept).items()]


def _joints(text: str) -> list[Meant]:
    ends = JointEnd.objects.filter(point__in=[each.id for each in _points(text)])
    return [Meant(each.joint_id, f"the joint at {text}") for each in ends]


def _channels(text: str) -> list[Meant]:
    class_name, at, port = text.rpartition(" at ")
    found = Channel.objects.filter(point__in=[each.id for each in _points(port)])
    return [
        Meant(each.pk, f"{each.optical_class} at {port}")
        for each in found.select_related("optical_class")
        if not at or normalised(str(each.optical_class)) == normalised(class_name)
    ]


_BY_NOUN = {
    "place": _places,
    "equipment": _equipment,
    "cable": _cables,
    "line": _lines,
    "point": _points,
    "port": _ports,
    "joint": _joints,
    "channel": _channels,
}

NOUNS = tuple(_BY_NOUN)
"""The nouns whose things have plain names."""
