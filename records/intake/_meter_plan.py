"""What a meter's file would record: its readings as rows, each held against the record."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import prefetch_related_objects

from records.intake._chunks import chunked
from records.intake._faults import Fault, Findings, Remark
from records.models import Reading
from records.queries.names import named_points
from records.queries.readings import Judged, judged_now, with_last_good


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterRow:
    """One reading that a file brings: its row, its point in words, and what it says.

    `judged` holds it against the record as it is now; `is_there_already` if it was taken in.
    """

    number: int
    point_name: str
    judged: Judged
    is_there_already: bool

    @property
    def reading(self) -> Reading:
        """Return the reading, not recorded yet."""
        return self.judged.reading


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterPlan:
    """What taking a file in would record. It can be committed only while it has no faults."""

    rows: tuple[MeterRow, ...]
    headers: dict[str, str]
    faults: tuple[Fault, ...]
    remarks: tuple[Remark, ...]

    @property
    def fresh(self) -> tuple[MeterRow, ...]:
        """Return the rows that are not in the record yet."""
        return tuple(each for each in self.rows if not each.is_there_already)

    @property
    def is_sound(self) -> bool:
        """Tell whether nothing stands in the way."""
        return not self.faults

    @property
    def is_there_already(self) -> bool:
        """Tell whether the record holds all of the file, so that there is nothing to do."""
        return self.is_sound and not self.fresh


Numbered = tuple[int, Reading]
"""The number of a row, and the reading that it says."""


def note_twice(drafts: Sequence[Numbered], findings: Findings) -> None:
    """Note readings of the same point, wavelength, direction and moment."""
    rows_of: dict[tuple[Any, ...], list[int]] = {}
    for number, each in drafts:
        rows_of.setdefault(key_of(each)[:-1], []).append(number)
    for number, each in drafts:
        rows = rows_of[key_of(each)[:-1]]
        if number != rows[0]:
            findings.fault(
                number,
                "where",
                None,
                f"Row {rows[0]} has a reading of the same point, wavelength and time.",
                allowed="One reading; or the time of each.",
                rows=rows,
            )


def key_of(reading: Reading) -> tuple[Any, ...]:
    """Return what makes a reading the same as another."""
    return (
        reading.point_id,
        reading.wavelength_nm,
        reading.direction,
        reading.taken_at,
        reading.level_mdbm,
    )


def recorded_keys(drafts: Iterable[Reading]) -> set[tuple[Any, ...]]:
    """Return the keys of all that is recorded at the points of some readings."""
    points = {each.point_id for each in drafts}
    return {key_of(each) for each in chunked(Reading.objects.all(), "point__in", points)}


def told_rows(drafts: Iterable[Numbered]) -> Iterable[MeterRow]:
    """Return rows with their verdicts, with a number of queries that grows by the hundreds."""
    listed = list(drafts)
    recorded = recorded_keys(each for _, each in listed)
    names = named_points({each.point_id for _, each in listed})
    prefetch_related_objects([each for _, each in listed], "taken_by")
    judged = with_last_good(judged_now(each for _, each in listed))
    for (number, each), told in zip(listed, judged, strict=True):
        yield MeterRow(
            number=number,
            point_name=names[each.point_id],
            judged=told,
            is_there_already=key_of(each) in recorded,
        )
