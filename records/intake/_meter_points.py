"""From the words in a file of readings to the one point where the meter was put."""

from collections.abc import Iterable, Sequence

from records.intake._cells import CellError
from records.models import DWELLINGS, Equipment, EquipmentKind, Line, Place, Point, Role
from records.queries.find import find
from records.queries.names import addresses, named_points
from records.queries.plain_names import meant, ports_by_name
from records.queries.words import normalised

NAMED = 4
"""How many of several that a name may mean are named."""

_HOW = "A tag's code, a port such as leg 3 of S1, or a flat's address."
_READ_AT = {EquipmentKind.TERMINAL: Role.TERMINAL, EquipmentKind.OUTLET: Role.FRONT}
"""Where a home is read: at its terminal, or else at the front of its outlet."""


class MeterPoints:
    """Where meters were put. The same words are looked up once only."""

    def __init__(self, texts: Iterable[str]) -> None:
        """Look up all ports that texts name by their equipment; other words one at a time."""
        self._known: dict[str, int | CellError] = {
            text: ports[0].id for text, ports in ports_by_name(texts).items() if len(ports) == 1
        }

    def point(self, text: str) -> int:
        """Return the point that a text means. Raises: CellError for none, or several."""
        if text not in self._known:
            try:
                self._known[text] = _point(text)
            except CellError as error:
                self._known[text] = error
        found = self._known[text]
        if isinstance(found, CellError):
            raise CellError(found.message, allowed=found.allowed)
        return found


def _point(text: str) -> int:
    points = meant("point", text)
    if points:
        return _only(text, [each.id for each in points], [each.name for each in points])
    homes = _homes(text)
    if len(homes) > 1:
        raise _several(text, addresses(Place.objects.filter(pk__in=homes)).values())
    if homes:
        return _read_in(text, homes[0])
    owners = meant("equipment", text)
    if owners:
        return _of_equipment(text, [each.id for each in owners])
    raise CellError(f"Nothing in the record is called '{text}'.", allowed=_HOW)


def _homes(text: str) -> list[int]:
    """Return the dwellings that a text means: by tag or line, by full name, by words alone."""
    lines = [each.id for each in meant("line", text)]
    named = {each.id for each in meant("place", text)}
    named |= set(Line.objects.filter(pk__in=lines).values_list("place", flat=True))
    found = Place.objects.filter(pk__in=named, kind__in=DWELLINGS)
    return list(found.values_list("pk", flat=True)) or _by_words(text)


def _by_words(text: str) -> list[int]:
    """Return the dwellings whose own name is among the words, which are all in their address."""
    said = set(normalised(text).split())
    hits = {each.id: each.title for each in find(text) if each.noun == "place"}
    found = Place.objects.filter(pk__in=hits, kind__in=DWELLINGS, retired=False)
    return [
        each.pk
        for each in found
        if set(normalised(each.name).split()) <= said <= set(normalised(hits[each.pk]).split())
    ]


def _read_in(text: str, home: int) -> int:
    for kind, role in _READ_AT.items():
        ports = Point.objects.filter(
            equipment__place=home, equipment__kind=kind, role=role
        ).values_list("pk", flat=True)
        if ports:
            return _only(text, list(ports), named_points(ports).values())
    raise CellError(
        f"{text} has neither a home terminal nor an outlet in the record.",
        allowed="The port where the meter was put, such as leg 3 of S1.",
    )


def _of_equipment(text: str, owners: Sequence[int]) -> int:
    found = Equipment.objects.filter(pk__in=owners)
    home_kinds = [each for each in found if each.kind in _READ_AT]
    ports = Point.objects.filter(equipment__in=found)
    if home_kinds and len(found) == 1:
        ports = ports.filter(role=_READ_AT[EquipmentKind(home_kinds[0].kind)])
    ids = list(ports.order_by("pk").values_list("pk", flat=True)[: NAMED + 1])
    if not ids:
        raise CellError(f"{text} has no port where light could be read.", allowed=_HOW)
    return _only(text, ids, named_points(ids).values())


def _only(text: str, ids: Sequence[int], names: Iterable[str]) -> int:
    if len(ids) > 1:
        raise _several(text, names)
    return ids[0]


def _several(text: str, names: Iterable[str]) -> CellError:
    listed = sorted(names)
    more = "; or others" if len(listed) > NAMED else ""
    return CellError(
        f"'{text}' may be several points.",
        allowed=f"One of: {'; '.join(listed[:NAMED])}{more}.",
    )
