"""The office paper of the owner's country."""

from typing import Final, NamedTuple


class Paper(NamedTuple):
    """A size of paper, upright, in millimetres."""

    width_mm: float
    height_mm: float


A4: Final = Paper(210.0, 297.0)
LETTER: Final = Paper(215.9, 279.4)

_OF_COUNTRIES: Final = {"CA": LETTER, "US": LETTER}
"""Countries of which a caution is known and whose paper is not A4.

Source: Unicode CLDR, release 46, supplemental data, paper sizes by territory.
"""


def paper_of(language: str) -> Paper:
    """Return the paper of a tag of language and country, such as 'en-CA'; A4 for no country."""
    return _OF_COUNTRIES.get(language.partition("-")[2], A4)
