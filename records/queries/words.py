"""Words as they are compared: no case, no accents, no punctuation; and words of a number."""

import re
import unicodedata

_NOT_A_WORD = re.compile(r"[^0-9a-z\u0080-\uffff]+")


def normalised(text: str) -> str:
    """Return the words of a text in lower case without accents, split at punctuation."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(mark for mark in decomposed if not unicodedata.combining(mark))
    return " ".join(_NOT_A_WORD.sub(" ", plain).split())


def counted(count: int, noun: str) -> str:
    """Return how many there are of something in words: '1 tag', '1,200 tags'."""
    return f"{count:,} {noun}{'' if count == 1 else 's'}"


def natural(text: str) -> list[tuple[int, str]]:
    """Return a sort key by which 'Flat 9' comes before 'Flat 10'."""
    parts = re.split(r"(\d+)", text.casefold())
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in parts]
