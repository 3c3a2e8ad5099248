"""Catalogue entries as light needs them."""

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from django.db.models import Q

from records.light.losses import Band, Entries, Entry, LossMdb
from records.light.spread import Channel
from records.models import Bound, CatalogueEntry, Direction, EntryKind
from records.models import Channel as ChannelRow
from records.optics.bands import overlaps
from records.queries.engine import Row, in_ids, rows
from records.queries.engine import ids as as_parameter


class _Figure(NamedTuple):
    branch: int | None
    bound: str
    wavelength_min_nm: int
    wavelength_max_nm: int
    value_mdb: int


_ENTRIES = """
SELECT entry.id, entry.kind, entry.inputs, entry.outputs, figure.branch, figure.bound,
       figure.wavelength_min_nm, figure.wavelength_max_nm, figure.value_mdb
FROM records_catalogueentry entry
LEFT JOIN records_figure figure ON figure.entry_id = entry.id
WHERE {wanted} ORDER BY entry.id, figure.id
"""


def entries(wanted: Iterable[int]) -> Entries:
    """Return the entries with these ids, with one query.

    They are read each time: a change that is rolled back, or made by another process, may give
    an id other figures. Raises: KeyError for an id that is not there.
    """
    listed = set(wanted)
    if not listed:
        return {}
    found = rows(_ENTRIES.format(wanted=in_ids("entry.id")), [as_parameter(listed)])
    by_entry: dict[Row, list[_Figure]] = {}
    for row in found:
        figures = by_entry.setdefault(row[:4], [])
        if row[5] is not None:
            figures.append(_Figure(*row[4:]))
    read = {head[0]: _entry(head, tuple(figures)) for head, figures in by_entry.items()}
    return {each: read[each] for each in listed}


# Kept by all that it is made of, so what is kept can't be out of date.
@lru_cache(maxsize=4096)
def _entry(head: Row, figures: tuple[_Figure, ...]) -> Entry:
    entry_id, kind, inputs, outputs = head
    return Entry(entry_id, kind, inputs, outputs, _bands(figures))


def _bands(figures: tuple[_Figure, ...]) -> tuple[Band, ...]:
    """Put the three bounds of each band together, cutting bands where one bound changes."""
    bands = []
    for branch in sorted({each.branch for each in figures}, key=lambda number: number or 0):
        of_branch = [each for each in figures if each.branch == branch]
        starts = {each.wavelength_min_nm for each in of_branch}
        ends = {each.wavelength_max_nm + 1 for each in of_branch}
        cuts = sorted(starts | ends)
        for first, after in pairwise(cuts):
            loss = _loss_at(of_branch, first)
            if loss is not None:
                bands.append(Band(branch, first, after - 1, loss))
    return tuple(bands)


def _loss_at(figures: Iterable[_Figure], wavelength_nm: int) -> LossMdb | None:
    found = {
        each.bound: each.value_mdb
        for each in figures
        if each.wavelength_min_nm <= wavelength_nm <= each.wavelength_max_nm
    }
    if len(found) < len(Bound):
        return None
    return LossMdb(found[Bound.LEAST], found[Bound.TYPICAL], found[Bound.MOST])


def default_entry(kind: EntryKind) -> CatalogueEntry:
    """Return the entry a verb takes where none is named: the first of its kind, newest version."""
    [found] = CatalogueEntry.objects.raw(_DEFAULT_ENTRY, [kind.value, kind.value])
    return found


# Written out: every joint asks it, and to put it together took Django longer than all else in it.
_DEFAULT_ENTRY = """
SELECT * FROM records_catalogueentry
WHERE kind = %s AND name = (
    SELECT name FROM records_catalogueentry WHERE kind = %s ORDER BY id LIMIT 1)
ORDER BY version DESC, id DESC LIMIT 1
"""


def light_channels(wanted: Iterable[int]) -> dict[int, Channel]:
    """Return channels as light needs them: each with the middle of its wavelength bands."""
    found = rows(
        f"""SELECT c.id, c.point_id, d.wavelength_min_nm, d.wavelength_max_nm,
                   u.wavelength_min_nm, u.wavelength_max_nm
            FROM records_channel c
            JOIN records_classdirection d
              ON d.optical_class_id = c.optical_class_id AND d.direction = 'down'
            JOIN records_classdirection u
              ON u.optical_class_id = c.optical_class_id AND u.direction = 'up'
            WHERE {in_ids("c.id")}""",
        [as_parameter(wanted)],
    )
    return {row[0]: _channel(row) for row in found}


def _channel(row: Row) -> Channel:
    number, point, down_min, down_max, up_min, up_max = row
    return Channel(number, point, (down_min + down_max) // 2, (up_min + up_max) // 2)


def clashing(channel_ids: Iterable[int], others: Iterable[int]) -> list[tuple[int, int, str]]:
    """Return the pairs that may not share a point: overlapping wavelengths, no declared standby.

    Each pair comes with the direction, down or up, in which the wavelengths overlap.
    """
    both = {*channel_ids, *others}
    known = ChannelRow.objects.filter(pk__in=both).prefetch_related("optical_class__directions")
    bands = {
        (channel.pk, side.direction): side
        for channel in known
        for side in channel.optical_class.directions.all()
    }
    pairs = {
        frozenset((channel.pk, channel.standby_for_id))
        for channel in known
        if channel.standby_for_id
    }
    return [
        (one, other, way)
        for one in set(channel_ids)
        for other in set(others)
        if one != other and frozenset((one, other)) not in pairs
        for way in Direction.values
        if overlaps(bands[one, way], bands[other, way])
    ]


def named_entry(kind: EntryKind, name: str) -> CatalogueEntry | None:
    """Return the newest version of an entry by its name, ignoring case."""
    wanted = Q(kind=kind, name__iexact=name.strip())
    return CatalogueEntry.objects.filter(wanted).order_by("-version").first()
