"""The columns and verbs of a job's sheet, by the words that people write for them."""

from collections.abc import Iterable
from difflib import get_close_matches

from records.changes.steps import parameters, plannable
from records.intake._cells import UNITS
from records.queries.words import normalised

VERB, NOTE = "verb", "step note"

_ALSO = {
    VERB: ("step", "do", "what", "task", "work", "action"),
    NOTE: ("note", "notes", "for the crew"),
    "note": ("remark", "note of the thing"),
    "a": ("first point", "from port", "point a", "from point"),
    "b": ("second point", "to port", "point b", "to point"),
    "leg": ("from leg", "splitter leg"),
    "to": ("to leg", "new leg"),
    "a_place": ("a end", "from place", "a end at"),
    "b_place": ("b end", "to place", "b end at"),
    "parent": ("inside", "in place"),
    "stands_in": ("housed in", "housing"),
    "fibre_count": ("fibres", "number of fibres"),
    "fibre": ("fibre number", "fibre no"),
    "entry": ("type", "loss figures", "ratio"),
    "optical_class": ("class", "technology and class"),
    "colour_scheme": ("colour code", "colours"),
    "polish": ("connectors", "its ports have"),
    "a_polish": ("polish at a end", "a end has"),
    "b_polish": ("polish at b end", "b end has"),
    "back_polish": ("adapter backs have",),
    "place": ("where", "where it stands", "dwelling", "building"),
    "point": ("where measured", "at"),
    "at_m": ("where from a end", "cut at"),
    "identifier": ("line identifier",),
    "outside_ref": ("outside reference",),
    "kind": ("how joined", "kind of thing"),
    "why": ("what is wrong", "reason"),
    "names": ("new names",),
    "noun": ("hangs on",),
    "code": ("tag", "tag code"),
}
"""Other words for a column than its own name."""

_OTHER_UNITS = ("km", "cm", "ft", "feet", "mw", "um")

_WORDS = {
    "bookings": "leg",
    "buildings": "building",
    "cable_works": "cable",
    "cables": "cable",
    "channels": "channel",
    "cuts": "cable",
    "equipment": "equipment",
    "joints": "joint",
    "lines": "line",
    "places": "place",
    "readings": "reading",
    "swaps": "equipment",
    "tags": "tag",
}
"""What the verbs of a module are done to, in the words of a work order."""

_VERBS_ALSO = {
    "join points": "joints.join",
    "splice": "joints.join",
    "join two points": "joints.join",
    "patch ports": "joints.patch",
    "patch two ports": "joints.patch",
    "part joint": "joints.part",
    "record reading": "readings.read",
    "take reading": "readings.read",
    "read level": "readings.read",
    "measure fibre": "cables.measure",
    "damage fibre": "cables.damage",
    "mend fibre": "cables.mend",
    "light port": "channels.light",
    "renumber flats": "buildings.renumber",
    "move dwelling": "bookings.move",
    "move booking": "bookings.move",
}


def columns() -> dict[str, str]:
    """Return the column that each known header means, by the header's words."""
    names = {name for verb in plannable() for name in parameters(verb)}
    known = {_without_unit(name): name for name in (*sorted(names - {"note"}), VERB)}
    for name, others in _ALSO.items():
        known |= {other: name for other in others if other not in known}
    return known


def column_of(header: str) -> str | None:
    """Return the column that a header means; its own unit at the end and case don't matter."""
    known = columns()
    words = _words(header)
    head, _, unit = words.rpartition(" ")
    named = known.get(head)
    return known.get(words) or (named if named and unit_of(named) == unit else None)


def wrong_unit(header: str) -> tuple[str, str] | None:
    """Return the unit that a header names and the one that is read there, None if it is right."""
    head, _, unit = _words(header).rpartition(" ")
    own = unit_of(columns().get(head, ""))
    is_wrong = own and unit != own and unit in {*UNITS, *_OTHER_UNITS}
    return (UNITS.get(unit, unit), UNITS[own]) if is_wrong else None


def unit_of(name: str) -> str:
    """Return the unit at the end of a column's own name, empty if it has none."""
    head, _, unit = name.rpartition("_")
    return unit if head and unit in UNITS else ""


def _without_unit(name: str) -> str:
    unit = unit_of(name)
    return _words(name.removesuffix(f"_{unit}") if unit else name)


def _words(text: str) -> str:
    return normalised(text.replace("_", " "))


def close_to(header: str) -> str:
    """Return the known header nearest to one that isn't known, empty if none is near."""
    near = get_close_matches(normalised(header), columns(), n=1, cutoff=0.75)
    return near[0] if near else ""


def verbs_of(cell: str) -> list[str]:
    """Return the verbs that a cell may mean: one, several, or none."""
    words = _without_articles(normalised(cell.replace("_", " ")))
    if words in _VERBS_ALSO:
        return [_VERBS_ALSO[words]]
    exact = [verb for verb in plannable() if normalised(verb.replace("_", " ")) == words]
    if exact:
        return exact
    named = [verb for verb in plannable() if words == f"{_word(verb)} {_noun(verb)}"]
    return named or [verb for verb in plannable() if words == _word(verb)]


def said(verb: str) -> str:
    """Return the words by which a sheet names a verb and no other."""
    for words, meant in _VERBS_ALSO.items():
        if meant == verb:
            return words
    words = f"{_word(verb)} {_noun(verb)}"
    return words if verbs_of(words) == [verb] else verb


def listed(verbs: Iterable[str]) -> str:
    """Return verbs as a sheet names them."""
    return ", ".join(said(verb) for verb in verbs)


def _word(verb: str) -> str:
    return verb.partition(".")[2].replace("_", " ")


def _noun(verb: str) -> str:
    return _WORDS.get(verb.partition(".")[0], "")


def _without_articles(words: str) -> str:
    return " ".join(each for each in words.split() if each not in {"a", "an", "the"})
