"""Readings of the other channels of a PON port, where a channel's own were taken too.

Two technologies on one port go through the same glass, so a home read at both wavelengths tells a
bend from a joint. What a channel launches is its own, though, and known no better than its class:
by how much the one misses more than the other at most homes is taken for that.
"""

from collections.abc import Iterable, Iterator, Sequence
from statistics import fmean, median
from typing import NamedTuple

from records.models import Direction
from records.queries.readings import Judged

PAIRS_ENOUGH = 3
"""Homes read in both channels from which their difference is told from one home's own fault."""


class Beside(NamedTuple):
    """A reading of another channel; `offset_db` is what that channel misses everywhere.

    None where too few homes were read in both to tell: then its launch may be off by that much.
    """

    judged: Judged
    offset_db: float | None


def beside(own: Sequence[Judged], others: Iterable[Judged]) -> list[Beside]:
    """Return those of other readings of light that were taken at points of the own ones."""
    missing = _missing_at(own)
    paired: dict[int, list[Judged]] = {}
    for each in others:
        if each.lit is not None and _is_paired(each, missing):
            paired.setdefault(each.lit.channel_id, []).append(each)
    return [each for of_channel in paired.values() for each in _of_channel(of_channel, missing)]


def _is_paired(judged: Judged, missing: dict[int, float]) -> bool:
    is_light = judged.reading.direction == Direction.DOWN and judged.level_dbm is not None
    return is_light and judged.reading.point_id in missing


def _missing_at(own: Iterable[Judged]) -> dict[int, float]:
    """Return what the own channel's readings down miss at each point."""
    found: dict[int, list[float]] = {}
    for each in own:
        difference_db = each.verdict.difference_db
        if each.reading.direction == Direction.DOWN and difference_db is not None:
            found.setdefault(each.reading.point_id, []).append(-difference_db)
    return {point: fmean(values) for point, values in found.items()}


def _of_channel(paired: Sequence[Judged], missing: dict[int, float]) -> Iterator[Beside]:
    more = {
        each.reading.point_id: -(each.verdict.difference_db or 0.0)
        - missing[each.reading.point_id]
        for each in paired
    }
    offset_db = median(more.values()) if len(more) >= PAIRS_ENOUGH else None
    for each in paired:
        yield Beside(each, offset_db)
