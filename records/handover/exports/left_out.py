"""What a file that is handed over leaves out: said beside it, never silently."""

from collections.abc import Iterable
from dataclasses import dataclass

Said = tuple[str, str]
"""What kind of thing is left out, and which one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Things of one kind that a file does not say."""

    what: str
    names: tuple[str, ...]


def gathered(said: Iterable[Said]) -> tuple[LeftOut, ...]:
    """Return what is left out by kind, each thing once, in the order in which it was said."""
    names: dict[str, dict[str, None]] = {}
    for what, name in said:
        names.setdefault(what, {})[name] = None
    return tuple(LeftOut(what=what, names=tuple(listed)) for what, listed in names.items())
