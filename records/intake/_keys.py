"""When two names are the same."""

import re

from records.queries.words import normalised

_NOUN = re.compile(r"^(?:flat|apartment|apt|house|unit|no) (?=.)")


def name_key(name: str) -> str:
    """Return what equal names have in common: case, accents and punctuation don't tell apart."""
    return normalised(name) or name.casefold().strip()


def flat_key(name: str) -> str:
    """Return the same for 'Flat 07', 'flat 7' and '7'."""
    bare = _NOUN.sub("", name_key(name))
    return re.sub(r"\b0+(?=\d)", "", bare)


def serial_key(serial: str) -> str:
    """Return the same for a serial in any case."""
    return serial.casefold().strip()
