"""Readings held against what the record expects."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from records.models import Direction, Reading
from records.optics.readings import ReadingVerdict, judge_reading
from records.queries.levels import Lit, lit_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A reading, the light it is held against, and the verdict.

    `lit` is None where the record expects no light.
    `is_before_change` tells that the light there was altered after the reading.
    """

    reading: Reading
    lit: Lit | None
    verdict: ReadingVerdict
    is_before_change: bool

    @property
    def level_dbm(self) -> float | None:
        """Return the level read; None means no light was seen."""
        mdbm = self.reading.level_mdbm
        return None if mdbm is None else mdbm / 1000


def judged(readings: Iterable[Reading], light: Mapping[int, Sequence[Lit]]) -> dict[int, Judged]:
    """Return one judged reading a point, given the light at the points."""
    return {each.point_id: judge(each, light.get(each.point_id, ())) for each in readings}


def judge(reading: Reading, light: Sequence[Lit]) -> Judged:
    """Hold a reading against the channel whose wavelength it was taken at."""
    lit = next((each for each in light if _is_of(reading, each)), None)
    expected = None
    if lit is not None:
        expected = lit.level if reading.direction == Direction.DOWN else lit.up_level
    verdict = judge_reading(
        reading_dbm=None if reading.level_mdbm is None else reading.level_mdbm / 1000,
        expected=expected,
        uncertainty_db=reading.uncertainty_mdb / 1000,
    )
    return Judged(
        reading=reading,
        lit=lit,
        verdict=verdict,
        is_before_change=lit is not None and lit.since > reading.change_id,
    )


def _is_of(reading: Reading, lit: Lit) -> bool:
    is_down = reading.direction == Direction.DOWN
    band = lit.optical_class.down if is_down else lit.optical_class.up
    return band.wavelength_min_nm <= reading.wavelength_nm <= band.wavelength_max_nm


def readings_at(point_id: int) -> list[Judged]:
    """Return all readings at a point, newest first, each judged."""
    light = lit_at([point_id])
    found = Reading.objects.filter(point=point_id).select_related("taken_by")
    return [judge(each, light) for each in found.order_by("-taken_at", "-pk")]


def latest_readings(point_ids: Iterable[int]) -> list[Judged]:
    """Return the latest reading of each wavelength at each of some points, judged."""
    newest_first = Window(
        RowNumber(),
        partition_by=[F("point"), F("wavelength_nm"), F("direction")],
        order_by=[F("taken_at").desc(), F("pk").desc()],
    )
    ranked = Reading.objects.filter(point__in=set(point_ids)).alias(rank=newest_first)
    latest = list(ranked.filter(rank=1))
    light: dict[int, list[Lit]] = {}
    for each in lit_at(reading.point_id for reading in latest):
        light.setdefault(each.point_id, []).append(each)
    return [judge(each, light.get(each.point_id, ())) for each in latest]
