"""Which changes came after a reading: one that worked on the way of its light, or took it away."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

from records.models import Change, Reading
from records.queries.glass import worked_on
from records.queries.gone_light import gone_light
from records.queries.levels import Lit

ReadingOf = tuple[Reading, Lit | None]
"""A reading, and the light of its wavelength that the record brings there."""

Kind = tuple[int, int, str]
"""Point, wavelength and direction: readings that can be compared."""


class Turn(NamedTuple):
    """By which change the glass was last worked on, or the light taken away, and reckoned anew."""

    altered_by: int | None
    reckoned_by: int | None


def turns_after(pairs: Sequence[ReadingOf]) -> list[Turn]:
    """Return what of the turns of each light came after its reading, with a few queries."""
    turns = _turns(pairs)
    at = _moments_of(
        number
        for (reading, _), turn in zip(pairs, turns, strict=True)
        for number in turn
        if number and number < reading.change_id
    )
    return [_after(reading, turn, at) for (reading, _), turn in zip(pairs, turns, strict=True)]


def _turns(pairs: Sequence[ReadingOf]) -> list[Turn]:
    dark = _darkened(reading for reading, lit in pairs if lit is None)
    glass = worked_on((lit.point_id, lit.channel_id) for _, lit in pairs if lit is not None)
    return [
        Turn(dark.get(kind_of(reading)), None)
        if lit is None
        else Turn(glass.get((lit.point_id, lit.channel_id)), lit.since)
        for reading, lit in pairs
    ]


def _after(reading: Reading, turn: Turn, at: Mapping[int, datetime]) -> Turn:
    """Return what of a turn came after the reading; other figures only where the glass stayed."""
    altered_by, reckoned_by = (
        number if number and _is_before(reading, number, at) else None for number in turn
    )
    return Turn(altered_by, None if altered_by else reckoned_by)


def _darkened(unlit: Iterable[Reading]) -> dict[Kind, int]:
    """Return by which change the light of some readings' wavelength went, where there was any."""
    listed = list(unlit)
    if not listed:
        return {}
    gone = gone_light(each.point_id for each in listed)
    found: dict[Kind, int] = {}
    for each in listed:
        numbers = [
            band.until
            for band in gone.get(each.point_id, ())
            if band.direction == each.direction
            and band.wavelength_min_nm <= each.wavelength_nm <= band.wavelength_max_nm
        ]
        if numbers:
            found[kind_of(each)] = max(numbers)
    return found


def _moments_of(numbers: Iterable[int]) -> dict[int, datetime]:
    wanted = set(numbers)
    if not wanted:
        return {}
    return dict(Change.objects.filter(number__in=wanted).values_list("number", "at"))


def _is_before(reading: Reading, number: int, at: Mapping[int, datetime]) -> bool:
    """Tell whether a reading is older than a change.

    One of the same change belongs to what it altered. A reading may be put in long after it was
    taken, from a file.
    """
    if reading.change_id == number:
        return False
    return reading.change_id < number or reading.taken_at < at[number]


def kind_of(reading: Reading) -> Kind:
    """Return with which others a reading can be compared."""
    return reading.point_id, reading.wavelength_nm, reading.direction
