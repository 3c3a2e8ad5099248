"""The code on a tag: seven random symbols and one check symbol, read as `7K3M-9QX8`.

Scheme: Crockford's base 32 with its mod 37 check, keeping only the numbers whose check symbol is
one of the 32. It was weighed against ISO/IEC 7064 MOD 37,36, Luhn mod 32 and a Damm-type check:
this one is published, finds every single wrong symbol and every swap of two symbols in a code
of this size, and stays inside an alphabet that can be said over the phone. Leaving out the
numbers with another check costs 13.5 % of them.

Random, not sequential: neighbouring ports then differ in many places, and a code tells nothing
about the plant. Randomness comes in as an argument; nothing here draws it.

This file imports neither Django nor any other part of the project: tables, queries, verbs and
labels all read codes with it.

Source: public notes on Crockford's base 32 (alphabet, reading rules, mod 37 with `*~$=U`).
"""

import re
from collections.abc import Callable, Iterable
from typing import Final

ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CHECK_ALPHABET: Final = ALPHABET + "*~$=U"
PAYLOAD_SIZE: Final = 7
CODE_SIZE: Final = PAYLOAD_SIZE + 1
GROUP_SIZE: Final = 4
NUMBER_COUNT: Final = len(ALPHABET) ** PAYLOAD_SIZE

_VALUES: Final = {symbol: value for value, symbol in enumerate(ALPHABET)}
_LOOK_ALIKES: Final = str.maketrans({"I": "1", "L": "1", "O": "0"})
_SEPARATORS: Final = re.compile(r"[\s\-\u2010-\u2015\u2212\u00ad\u200b\ufeff]+")

_LINK: Final = re.compile(r"https?://(?P<host>[^/]+)/t/(?P<code>[^/?#]+)/?", re.IGNORECASE)
_FOREIGN: Final = re.compile(r"[^\w\s\-\u2010-\u2015\u2212]|.{25}")

# Three letters in a row make words. 0 and 1 count as letters here, since they are read as O and
# I. The rule needs no list of words, holds in every language, and leaves some four thousand
# million codes; a list would have to be long, in many languages, and unpleasant to keep.
_READS_LIKE_A_WORD: Final = re.compile(r"[A-Z01]{3}")

# Source: letters as in ICAO Annex 10 volume II and ITU Radio Regulations appendix 14; digits by
# their plain English names (common practice).
_WORDS: Final = (
    "zero one two three four five six seven eight nine "
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel Juliett Kilo Mike "
    "November Papa Quebec Romeo Sierra Tango Victor Whiskey X-ray Yankee Zulu"
)
_SPOKEN: Final = dict(zip(ALPHABET, _WORDS.split(), strict=True))


class TagCodeError(ValueError):
    """Say what is wrong with a typed or scanned code, and where.

    `fault` is one of `length`, `symbol`, `check` and `foreign`; `position` counts from 1 over the
    symbols that remain when spaces and hyphens are dropped, and is None unless one symbol is to
    blame.
    """

    def __init__(self, fault: str, message: str, *, position: int | None = None) -> None:
        super().__init__(message)
        self.fault = fault
        self.position = position


class NoFreeCodeError(Exception):
    """Say that the random numbers ran out before an unused code was found."""


def check_symbol(payload: str) -> str:
    """Return the mod 37 check symbol of a payload of any size, one of `CHECK_ALPHABET`.

    Raises: KeyError for a symbol outside the alphabet.
    """
    number = 0
    for symbol in payload:
        number = number * len(ALPHABET) + _VALUES[symbol]
    return CHECK_ALPHABET[number % len(CHECK_ALPHABET)]


def payload_of(number: int) -> str:
    """Write a number as seven symbols, padded with zeros on the left.

    Raises: ValueError outside `range(NUMBER_COUNT)`.
    """
    if not 0 <= number < NUMBER_COUNT:
        raise ValueError(f"A tag number lies between 0 and {NUMBER_COUNT - 1}; got {number}.")
    symbols = []
    for _ in range(PAYLOAD_SIZE):
        number, value = divmod(number, len(ALPHABET))
        symbols.append(ALPHABET[value])
    return "".join(reversed(symbols))


def code_from_number(number: int) -> str:
    """Return the eight-symbol code of a number.

    Raises: ValueError where the number is out of range, or its check symbol is not one of the
    32 (such a number is never a code).
    """
    payload = payload_of(number)
    check = check_symbol(payload)
    if check not in _VALUES:
        raise ValueError(f"Number {number} has the check symbol {check}, which no tag code uses.")
    return payload + check


def candidate(random_number: int) -> str | None:
    """Return the code that a random number stands for, or None where none may be issued.

    None means: draw again. It comes for numbers whose check symbol is outside the 32, and for
    codes with three letters in a row, which could spell something.
    """
    payload = payload_of(random_number)
    code = payload + check_symbol(payload)
    if code[-1] not in _VALUES or _READS_LIKE_A_WORD.search(code):
        return None
    return code


def issue(random_numbers: Iterable[int], is_taken: Callable[[str], bool]) -> str:
    """Return the first code of a stream of random numbers that was never issued before.

    `is_taken` answers for every code ever issued, destroyed tags included.

    Raises: NoFreeCodeError when the stream ends first.
    """
    for random_number in random_numbers:
        code = candidate(random_number)
        if code is not None and not is_taken(code):
            return code
    raise NoFreeCodeError(
        "No unused tag code was found among the random numbers offered; offer more."
    )


def parse(text: str) -> str:
    """Return the eight symbols that a person typed, a scanner read or a page holds.

    Case, spaces and hyphens are forgiven; I and L are read as 1, O as 0. U stands for nothing
    and is refused: whoever wrote it may have meant V, or 0, and a guess would find another tag.

    Raises: TagCodeError, telling a wrong count from a wrong symbol from a check that fails.
    """
    typed = _SEPARATORS.sub("", text).upper()
    symbols = typed.translate(_LOOK_ALIKES)
    for position, symbol in enumerate(symbols, start=1):
        if symbol not in _VALUES:
            raise TagCodeError("symbol", _symbol_message(symbol, position), position=position)
    if len(symbols) != CODE_SIZE:
        raise TagCodeError(
            "length",
            f"A tag code has {CODE_SIZE} characters, as in 7K3M-9QX8; this has {len(symbols)}.",
        )
    if check_symbol(symbols[:PAYLOAD_SIZE]) != symbols[PAYLOAD_SIZE]:
        raise TagCodeError(
            "check",
            f"{grouped(symbols)} is not a tag code: its check character does not fit. One "
            "character is wrong, or two are swapped. Read the tag once more.",
        )
    return symbols


def parse_scanned(text: str, host: str) -> str:
    """Return the code of what a scanner read: the link of a tag of `host`, or a bare code.

    Raises: TagCodeError, with the fault `foreign` for the code of another system.
    """
    scanned = text.strip()
    tag = _LINK.fullmatch(scanned)
    if tag is None and not _FOREIGN.search(scanned):
        return parse(scanned)
    if tag is None or tag["host"].lower() != host.lower():
        raise TagCodeError(
            "foreign",
            f"{scanned!r} is not a tag of this record. Its tags hold links that lead to "
            f"{host.lower()}/t/. Scan the label beside it, or type the code.",
        )
    return parse(tag["code"])


def grouped(code: str) -> str:
    """Return a code in two groups of four, as labels and screens show it."""
    return f"{code[:GROUP_SIZE]}-{code[GROUP_SIZE:]}"


def spoken(code: str) -> str:
    """Return a code as it is said over the phone, with a pause between the groups."""
    words = [_SPOKEN[symbol] for symbol in code]
    return f"{' '.join(words[:GROUP_SIZE])}, {' '.join(words[GROUP_SIZE:])}"


def _symbol_message(symbol: str, position: int) -> str:
    if symbol == "U":
        return (
            f"Character {position} is U, which no tag code has. Read the tag once more: "
            "it may be a V or a 0."
        )
    return (
        f"Character {position} is {symbol!r}, which no tag code has. "
        f"A tag code uses the digits and the letters {ALPHABET[10:]}."
    )
