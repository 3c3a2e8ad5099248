"""One box that finds anything: an address in any word order, a code, a serial, a port."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import connection
from django.db.models import QuerySet

from records.models import (
    Cable,
    CableKind,
    Equipment,
    EquipmentKind,
    Line,
    Noun,
    Place,
    PlaceKind,
    Point,
    Role,
    Tag,
)
from records.models.tag_code import TagCodeError, grouped, parse
from records.models.text_index import PREFIX, TEXT_INDEX
from records.queries.engine import rows
from records.queries.moment import number_asked
from records.queries.names import addresses, cable_name, port_label
from records.queries.things import named, tagged
from records.queries.words import counted, normalised

LIMIT = 30
_LOOKED_AT = 300
"""How many matches are ranked; more means the words say too little to rank by."""

_ORDER = {Noun.PLACE: 0, Noun.EQUIPMENT: 1, Noun.LINE: 2, Noun.CABLE: 3}
_DIGITS_MAX = 5
_PORT = re.compile(
    r"\b(pon port|pon|port|input|leg|front|back|branch|fibre|numbered)\s+(\d{1,5})\b"
)
_LEG = re.compile(r"legs? ?(\d{1,5})")
_CODE = re.compile(r"[0-9a-z]{4}[\s-][0-9a-z]{4}|(?=.*\d)[0-9a-z]{8}", re.IGNORECASE)
_LETTERS_OR_DIGITS = re.compile(r"\d+|\D+")
_WORDS_MAX = 8
"""Words of a text that are looked up one by one."""

_NUMBERED = "numbered"
"""What is meant where a number stands alone behind an equipment."""
_ROLES = {
    "pon port": [Role.PON],
    "pon": [Role.PON],
    "port": [Role.PON, Role.FRONT, Role.TERMINAL],
    "input": [Role.INPUT],
    "leg": [Role.LEG],
    "front": [Role.FRONT],
    "back": [Role.BACK],
    "branch": [Role.BRANCH],
    "fibre": [Role.A_END],
    _NUMBERED: [Role.PON, Role.LEG, Role.FRONT],
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A thing found: its noun and id, what it is called, and a second line about it."""

    noun: str
    id: int
    title: str
    detail: str


def find(text: str, *, limit: int = LIMIT) -> list[Found]:
    """Return what a text may mean, best first: tags, then ports, then things by their words.

    Only where that is nothing, the words are read more freely.
    """
    found = _by_code(text)
    words = normalised(text)
    found.extend(_by_words(words, limit))
    if not found and not wrong_code(text):
        found = _read_freely(words, limit)
    return found[:limit]


def wrong_code(text: str) -> str:
    """Return what is wrong with a text that has the form of a tag's code; empty if nothing is.

    A word of eight letters may be meant as a word, so without a digit or a hyphen it is no code.
    """
    try:
        parse(text)
    except TagCodeError as error:
        is_code = error.fault == "check" and _CODE.fullmatch(text.strip())
        return str(error) if is_code else ""
    return ""


def _by_words(words: str, limit: int) -> list[Found]:
    found = _ports(words, limit)
    seen = {(each.noun, each.id) for each in found}
    things = _things(words.split(), limit)
    return [*found, *(each for each in things if (each.noun, each.id) not in seen)]


def _read_freely(words: str, limit: int) -> list[Found]:
    """Return what words mean that together are nobody's.

    'flat12' is flat 12, 's a2 26' what has the number 26 on S-A2, 'leg 26' every leg 26.
    """
    leg = _LEG.fullmatch(words)
    if leg:
        return _legs(int(leg[1]), limit)
    apart = " ".join(_apart(word) for word in words.split()[:_WORDS_MAX])
    found = _by_words(apart, limit) if apart != words else []
    owner, _, number = apart.rpartition(" ")
    if not found and owner and number.isdecimal() and len(number) <= _DIGITS_MAX:
        found = _ports(f"{owner} {_NUMBERED} {number}", limit)
    return found


def _apart(word: str) -> str:
    """Return a word that nothing has in its name with its letters and digits apart."""
    parts = _LETTERS_OR_DIGITS.findall(word)
    return word if len(parts) < 2 or _matching([word], 1) else " ".join(parts)  # noqa: PLR2004


def _legs(number: int, limit: int) -> list[Found]:
    """Return legs by their number alone, found by the splitters that have so many."""
    splitters = Equipment.objects.filter(kind=EquipmentKind.SPLITTER, entry__outputs__gte=number)
    pks = list(splitters.order_by("pk").values_list("pk", flat=True)[:limit])
    return _found_points(Point.objects.filter(equipment__in=pks), "leg", number, limit)


def _by_code(text: str) -> list[Found]:
    try:
        code = parse(text)
    except TagCodeError:
        return []
    tag = Tag.objects.filter(code=code).first()
    if tag is None:
        return []
    detail = f"tag {grouped(code)}"
    target = tagged(tag)
    if target is None:
        state = f"voided: {tag.voided}" if tag.voided else "blank, bound to nothing yet"
        return [Found(noun="tag", id=tag.pk, title=detail, detail=state)]
    noun, thing = target
    return [Found(noun=noun, id=thing.pk, title=named(thing), detail=detail)]


def _ports(words: str, limit: int) -> list[Found]:
    """Return the ports or fibres that the text names beside an equipment or cable."""
    match = _PORT.search(words)
    if match is None:
        return []
    rest = [
        word for word in (words[: match.start()] + words[match.end() :]).split() if word != "of"
    ]
    owners = _matching(rest, _LOOKED_AT) if rest else []
    word, number = match[1], int(match[2])
    if word == "fibre":
        cables = [pk for noun, pk, _ in owners if noun == Noun.CABLE]
        points = Point.objects.filter(passage__cable__in=cables)
    else:
        equipment = [pk for noun, pk, _ in owners if noun == Noun.EQUIPMENT]
        points = Point.objects.filter(equipment__in=equipment)
    return _found_points(points, word, number, limit)


def _found_points(points: "QuerySet[Point]", word: str, number: int, limit: int) -> list[Found]:
    listed = points.filter(role__in=_ROLES[word], number=number).select_related(
        "equipment__place", "passage__cable__a_place", "passage__cable__b_place"
    )
    return [_found_point(point) for point in listed.order_by("pk")[:limit]]


def _found_point(point: Point) -> Found:
    if point.equipment is not None:
        title = f"{port_label(point)} of {point.equipment.name}"
        return Found(noun="point", id=point.pk, title=title, detail=str(point.equipment.place))
    cable = point.passage.cable if point.passage else None
    title = f"fibre {point.number} of {cable}"
    return Found(noun="point", id=point.pk, title=title, detail=cable_name(cable) if cable else "")


Match = tuple[str, int, str]


def _things(words: list[str], limit: int) -> list[Found]:
    matches = _matching(words, _LOOKED_AT) if words else []
    said = f" {' '.join(words)} "
    return _described(sorted(matches, key=lambda match: _rank(match, said))[:limit])


def _rank(match: Match, said: str) -> tuple[int, bool, int, str]:
    """Return what things are sorted by: for 'flat 1', Flat 1 before Flat 9 of floor 1."""
    noun, _pk, text = match
    return _ORDER[Noun(noun)], said not in f" {text} ", len(text), text


def _matching(words: list[str], limit: int) -> list[Match]:
    """Return things whose words hold all of these; if none does, the last one is unfinished.

    So 'block a' is Block A and not all of Alder Court, and a place is found while it is typed.
    """
    return _search(words, limit, unfinished=False) or _search(words, limit, unfinished=True)


def _search(words: list[str], limit: int, *, unfinished: bool) -> list[Match]:
    moment = number_asked()
    if connection.vendor == "postgresql":
        last = ":*" if unfinished else ""
        query = " & ".join(f"'{word}'" for word in words) + last
        return rows(
            """SELECT noun, thing_id, words FROM records_searchtext_history
               WHERE to_tsvector('simple', words) @@ to_tsquery('simple', %s)
                 AND since <= %s AND until > %s LIMIT %s""",
            [query, moment, moment, limit],
        )
    *others, last = words
    # The index knows beginnings up to PREFIX letters; a longer one it would gather word by word.
    terms = [*others, last[:PREFIX]] if unfinished else words
    query = " ".join(f'"{term}"' for term in terms) + ("*" if unfinished else "")
    return rows(
        f"""SELECT text.noun, text.thing_id, text.words
            FROM {TEXT_INDEX}
            JOIN records_searchtext_history text ON text.row = {TEXT_INDEX}.rowid
            WHERE {TEXT_INDEX} MATCH %s AND instr(' ' || text.words, %s)
              AND text.since <= %s AND text.until > %s LIMIT %s""",
        [query, f" {last}", moment, moment, limit],
    )


def _described(matches: Iterable[Match]) -> list[Found]:
    listed = list(matches)
    known: Known = {}
    for noun, described in _DESCRIBED.items():
        pks = [pk for each, pk, _ in listed if each == noun]
        if pks:
            known.update(described(pks))
    return [known[noun, pk] for noun, pk, _ in listed if (noun, pk) in known]


Known = dict[tuple[str, int], Found]


def _places(pks: list[int]) -> Known:
    places = list(Place.objects.filter(pk__in=pks))
    known = addresses(places)
    return {
        (Noun.PLACE, each.pk): Found(
            noun="place", id=each.pk, title=known[each.pk], detail=PlaceKind(each.kind).label
        )
        for each in places
    }


def _equipment(pks: list[int]) -> Known:
    found = list(Equipment.objects.filter(pk__in=pks).select_related("place"))
    known = addresses({each.place for each in found})
    return {
        (Noun.EQUIPMENT, each.pk): Found(
            noun="equipment",
            id=each.pk,
            title=each.name,
            detail=f"{EquipmentKind(each.kind).label} in {known[each.place_id]}",
        )
        for each in found
    }


def _cables(pks: list[int]) -> Known:
    found = Cable.objects.filter(pk__in=pks).select_related("a_place", "b_place")
    return {
        (Noun.CABLE, each.pk): Found(
            noun="cable",
            id=each.pk,
            title=cable_name(each),
            detail=f"{CableKind(each.kind).label}, {counted(each.fibre_count, 'fibre')}",
        )
        for each in found
    }


def _lines(pks: list[int]) -> Known:
    found = list(Line.objects.filter(pk__in=pks).select_related("place"))
    known = addresses({each.place for each in found})
    return {
        (Noun.LINE, each.pk): Found(
            noun="line", id=each.pk, title=f"line {each}", detail=known[each.place_id]
        )
        for each in found
    }


_DESCRIBED = {
    Noun.PLACE: _places,
    Noun.EQUIPMENT: _equipment,
    Noun.CABLE: _cables,
    Noun.LINE: _lines,
}
