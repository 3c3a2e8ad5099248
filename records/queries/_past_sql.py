"""Turn a statement that reads kept tables into one that reads their history twins.

The statement is cut into tokens, so that literals, comments and column names are left alone. A
kept table may stand after FROM or JOIN; anywhere else it would be read as it is now, so such a
statement is refused rather than answered wrongly.
"""

import re
from functools import lru_cache
from typing import NamedTuple

from records.models import KEPT

_TOKENS = re.compile(
    r"""'(?:[^']|'')*' | --[^\n]* | /\*.*?\*/ | "(?:[^"]|"")*" | [A-Za-z_]\w* | \s+ | .""",
    re.VERBOSE | re.DOTALL,
)
_TABLES = frozenset(model._meta.db_table for model in KEPT)
_WRITES_FIRST = frozenset({"REPLACE", "CREATE", "DROP", "ALTER", "TRUNCATE", "COPY", "VACUUM"})
_WRITES = frozenset({"INSERT", "DELETE", "MERGE", "UPDATE"})
_NO_ALIAS = frozenset(
    [
        *("ON", "USING", "WHERE", "LEFT", "RIGHT", "FULL", "INNER", "OUTER", "CROSS", "NATURAL"),
        *("JOIN", "ORDER", "GROUP", "HAVING", "LIMIT", "OFFSET", "FETCH", "FOR", "WINDOW"),
        *("UNION", "EXCEPT", "INTERSECT", "RETURNING", "TABLESAMPLE"),
    ]
)
"""What may follow a table and is no other name for it."""


class _Token(NamedTuple):
    at: int
    text: str

    @property
    def word(self) -> str:
        """Return a keyword in capitals; a quoted name is none."""
        return self.text.upper() if self.text[0].isalpha() else ""

    @property
    def table(self) -> str:
        """Return the kept table that this names, if any."""
        is_quoted = self.text.startswith('"')
        name = self.text[1:-1] if is_quoted else self.text.lower()
        return name if name in _TABLES else ""


@lru_cache(maxsize=2000)
def past_pieces(sql: str) -> tuple[str, ...]:
    """Return the pieces of the statement between which the change's number belongs.

    Raises: RuntimeError for a write, or a kept table where it can't be turned to its twin.
    """
    texts = _TOKENS.findall(sql)
    tokens = [
        _Token(at, text)
        for at, text in enumerate(texts)
        if not text.isspace() and not text.startswith(("--", "/*"))
    ]
    _refuse_write(tokens)
    padded = [_Token(-1, ";"), *tokens, _Token(-1, ";")]
    for before, token, after in zip(padded, tokens, padded[2:], strict=False):
        if token.table and after.text != ".":
            texts[token.at] = _read(before, token, after)
    return tuple("".join(texts).split(_NUMBER))


_NUMBER = "\x00"  # no statement holds it


def _refuse_write(tokens: list[_Token]) -> None:
    words = [token.word for token in tokens]
    is_write = bool(words) and words[0] in _WRITES_FIRST
    for before, word in zip(["", *words], words, strict=False):
        # SELECT ... FOR UPDATE and FOR NO KEY UPDATE only lock.
        is_write |= word in _WRITES and before not in {"FOR", "KEY"}
    if is_write:
        raise RuntimeError("The past is read only: a write was tried while asking about it.")


def _read(before: _Token, token: _Token, after: _Token) -> str:
    """Return what stands for a kept table: its twin after FROM or JOIN, itself as an alias."""
    if before.word in {"FROM", "JOIN"}:
        versions = (
            f"(SELECT * FROM {token.table}_history WHERE since <= {_NUMBER} AND until > {_NUMBER})"
        )
        has_alias = after.text.startswith('"') or (after.word and after.word not in _NO_ALIAS)
        return versions if has_alias else f"{versions} {token.text}"
    is_alias = before.word == "AS" or before.text == ")" or before.table
    if is_alias:
        return token.text
    raise RuntimeError(
        f"{token.table} stands where it would be read as it is now. Read it after FROM or JOIN."
    )
