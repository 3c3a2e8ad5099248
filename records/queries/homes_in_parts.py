"""Many homes in parts, each small enough to be answered for at once."""

from collections.abc import Sequence
from dataclasses import dataclass

from records.queries.receivers import Receiver

AT_ONCE = 1_000
"""Homes in a part: as many as a what-if answers for within a second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Some of many homes, by address: which part this is, of how many, and the homes of all."""

    number: int
    parts: int
    all_homes: int
    receivers: tuple[Receiver, ...]

    @property
    def is_whole(self) -> bool:
        """Tell whether there is only this one."""
        return self.parts == 1

    @property
    def first(self) -> int:
        """Return the number of its first home among all, from 1."""
        return (self.number - 1) * AT_ONCE + 1

    @property
    def latest(self) -> int:
        """Return the number of its last home among all."""
        return self.first + len(self.receivers) - 1


def part_of(receivers: Sequence[Receiver], number: int) -> Part:
    """Return a part of homes by its number, from 1; the last one for a number beyond.

    >>> part_of([], 3).number
    1
    """
    parts = max(1, -(-len(receivers) // AT_ONCE))
    wanted = min(max(number, 1), parts)
    start = (wanted - 1) * AT_ONCE
    return Part(
        number=wanted,
        parts=parts,
        all_homes=len(receivers),
        receivers=tuple(receivers[start : start + AT_ONCE]),
    )
