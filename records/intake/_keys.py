"""When two names are the same."""

import re

from records.queries.words import normalised

_MINUS = re.compile(r"(?<!\S)[-\u2212](?=\d)")
"""A sign, as in 'R -1' for the riser of the basement; in 'R-1' it is punctuation."""

_NOUN = re.compile(r"^(?:flat|apartment|apt|house|unit|no) (?=.)")


def name_key(name: str) -> str:
    """Return what equal names have in common: case, accents and punctuation don't tell apart.

    A number below zero is another than the one above.
    """
    return normalised(_MINUS.sub("minus ", name)) or name.casefold().strip()


def flat_key(name: str) -> str:
    """Return the same for 'Flat 07', 'flat 7' and '7'."""
    bare = _NOUN.sub("", name_key(name))
    return re.sub(r"\b0+(?=\d)", "", bare)


def serial_key(serial: str) -> str:
    """Return the same for a serial in any case."""
    return serial.casefold().strip()
