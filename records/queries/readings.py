"""Readings held against what the record expects, and the last good one before each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import F, QuerySet, Window
from django.db.models.functions import RowNumber

from records.models import STILL, Channel, Direction, Reading
from records.optics.bands import middle_nm
from records.optics.classes import OpticalClass
from records.optics.levels import Level
from records.optics.readings import Outcome, ReadingVerdict, judge_reading
from records.queries._reading_turns import Kind, ReadingOf, Turn, kind_of, turns_after
from records.queries.levels import Lit, lit_at, lit_when_read
from records.queries.spans import spans

LOOKED_BACK = 30
"""How many of the latest readings of a kind are looked through for the last good one."""


NOT_YET = STILL
"""The change number of a reading that is not recorded yet: later than all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A reading, the light it is held against, and the verdict.

    `light` is all that the record brings to its point, `lit` that of its wavelength; None where
    the record expects none. `altered_by` is the change that worked on the way of its light after
    the reading, or took the light away. `reckoned_by` is one that came after the reading too, but
    only reckons the level expected from other figures. `last_good` is the latest earlier reading
    there, of the same wavelength and direction, that was as the record expected when recorded.
    `is_resting` tells that it saw none on the feeder of a standby, which is right.
    """

    reading: Reading
    light: tuple[Lit, ...]
    lit: Lit | None
    verdict: ReadingVerdict
    altered_by: int | None
    reckoned_by: int | None = None
    is_resting: bool = False
    last_good: Reading | None = None

    @property
    def is_before_change(self) -> bool:
        """Tell whether the glass that its light came through was worked on after the reading."""
        return self.altered_by is not None

    @property
    def expected(self) -> Level | None:
        """Return the level it is held against, if the record expects light of its wavelength."""
        if self.lit is None or self.is_resting:
            return None
        return _expected_level(self.reading, self.lit)

    @property
    def against(self) -> str:
        """Return in words how it differs from what is expected; empty where nothing is."""
        level, difference_db = self.expected, self.verdict.difference_db
        if level is None:
            return ""
        what = f"{self.verdict.outcome}"
        if difference_db is not None:
            what += f", {difference_db:+.2f} dB against typical"
        return f"{what}, where {level.least_dbm:.2f} to {level.most_dbm:.2f} dBm is expected"

    @property
    def doubt(self) -> str:
        """Return in words why the record can't explain it; empty where it can.

        Not where the light was taken away after the reading: then `altered_by` explains it.
        """
        if self.lit is not None or self.is_before_change:
            return ""
        if self.light:
            way = f"{self.reading.wavelength_nm} nm {self.reading.direction}"
            known = dict.fromkeys(_said(each.optical_class) for each in self.light)
            return f"{way} is of no channel that is lit here: {'; '.join(known)}"
        if self.verdict.outcome == Outcome.UNEXPECTED:
            return "light was measured here, but the record has no path to this point"
        return ""

    @property
    def caution(self) -> str:
        """Return in words what to look at again, such as a change since; empty where nothing is.

        It begins in small letters, to stand in a sentence or at its start.
        """
        if self.altered_by is None:
            return self.doubt
        return f"taken before change {self.altered_by} {self.change_did}"

    @property
    def change_did(self) -> str:
        """Return in words what the change `altered_by` did."""
        return "took away the light" if self.lit is None else "altered the way of the light"

    @property
    def level_dbm(self) -> float | None:
        """Return the level read; None means no light was seen."""
        return _dbm(self.reading)

    @property
    def last_good_dbm(self) -> float | None:
        """Return the level of the last good reading, if there is one."""
        return None if self.last_good is None else _dbm(self.last_good)

    @property
    def since_good_db(self) -> float | None:
        """Return by how much it differs from the last good reading; positive for more light."""
        if self.level_dbm is None or self.last_good_dbm is None:
            return None
        return self.level_dbm - self.last_good_dbm


def _said(of_class: OpticalClass) -> str:
    down_nm, up_nm = middle_nm(of_class.down), middle_nm(of_class.up)
    return f"{of_class.system} {of_class.name} is {down_nm} nm down and {up_nm} nm up"


def _dbm(reading: Reading) -> float | None:
    return None if reading.level_mdbm is None else reading.level_mdbm / 1000


def judged(readings: Iterable[Reading], light: Mapping[int, Sequence[Lit]]) -> list[Judged]:
    """Hold readings against the light at their points, with a fixed number of queries.

    A reading may be one that is not recorded yet, of the change number NOT_YET.
    """
    pairs = [(each, _light_of(each, light.get(each.point_id, ()))) for each in readings]
    resting = _resting(pairs)
    return [
        _judged(
            reading,
            lit,
            light.get(reading.point_id, ()),
            turn,
            is_resting=bool(lit and _is_dark_feeder(reading, lit) and lit.channel_id in resting),
        )
        for (reading, lit), turn in zip(pairs, turns_after(pairs), strict=True)
    ]


def _judged(
    reading: Reading, lit: Lit | None, light: Sequence[Lit], turn: Turn, *, is_resting: bool
) -> Judged:
    expected = None if lit is None or is_resting else _expected_level(reading, lit)
    return Judged(
        reading=reading,
        light=tuple(light),
        lit=lit,
        verdict=_verdict(reading, expected),
        altered_by=turn.altered_by,
        reckoned_by=turn.reckoned_by,
        is_resting=is_resting,
    )


def _light_of(reading: Reading, light: Sequence[Lit]) -> Lit | None:
    """Return the light whose wavelength a reading was taken at."""
    return next((each for each in light if _is_of(reading, each)), None)


def _is_of(reading: Reading, lit: Lit) -> bool:
    is_down = reading.direction == Direction.DOWN
    band = lit.optical_class.down if is_down else lit.optical_class.up
    return band.wavelength_min_nm <= reading.wavelength_nm <= band.wavelength_max_nm


def _expected_level(reading: Reading, lit: Lit) -> Level:
    return lit.level if reading.direction == Direction.DOWN else lit.up_level


def _resting(pairs: Iterable[ReadingOf]) -> set[int]:
    """Return the standby channels that rest, of those whose feeder was read as dark.

    A standby sends only while it stands in; where it alone has a way to homes, it should be lit.
    """
    dark = {lit.channel_id for reading, lit in pairs if lit and _is_dark_feeder(reading, lit)}
    if not dark:
        return set()
    mains = dict(Channel.objects.filter(pk__in=dark).values_list("pk", "standby_for"))
    working = spans(main for main in mains.values() if main is not None)
    return {standby for standby, main in mains.items() if main in working}


def _is_dark_feeder(reading: Reading, lit: Lit) -> bool:
    return lit.is_standby and lit.split == 1 and reading.level_mdbm is None


def _verdict(reading: Reading, expected: Level | None) -> ReadingVerdict:
    return judge_reading(
        reading_dbm=_dbm(reading),
        expected=expected,
        uncertainty_db=reading.uncertainty_mdb / 1000,
    )


def readings_at(point_id: int) -> list[Judged]:
    """Return all readings at a point, newest first, each judged, with the last good before it."""
    found = Reading.objects.filter(point=point_id).select_related("taken_by")
    listed = list(found.order_by("-taken_at", "-pk"))
    return with_last_good(judged(listed, {point_id: lit_at([point_id])}))


def latest_readings(point_ids: Iterable[int]) -> list[Judged]:
    """Return the latest reading of each wavelength at each of some points, judged."""
    return judged_now(_newest(point_ids, 1))


def judged_now(readings: Iterable[Reading]) -> list[Judged]:
    """Hold readings against the light at their points as it is now."""
    listed = list(readings)
    light: dict[int, list[Lit]] = {}
    for each in lit_at(reading.point_id for reading in listed):
        light.setdefault(each.point_id, []).append(each)
    return judged(listed, light)


def _newest(point_ids: Iterable[int], count: int) -> "QuerySet[Reading]":
    """Return so many of the latest readings of each wavelength and direction at each point."""
    newest_first = Window(
        RowNumber(),
        partition_by=[F("point"), F("wavelength_nm"), F("direction")],
        order_by=[F("taken_at").desc(), F("pk").desc()],
    )
    ranked = Reading.objects.filter(point__in=set(point_ids)).alias(rank=newest_first)
    return ranked.filter(rank__lte=count)


def with_last_good(readings: Sequence[Judged]) -> list[Judged]:
    """Return judged readings, each with the last good one before it, with two queries.

    A reading counts as good if it saw light that was as expected by the record as it stood then;
    what was built since makes it no worse.
    """
    earlier = _newest((each.reading.point_id for each in readings), LOOKED_BACK)
    known = list(earlier.select_related("taken_by"))
    light = lit_when_read(each.pk for each in known)
    good: dict[Kind, list[Reading]] = {}
    for each in sorted(known, key=_moment, reverse=True):
        if _was_good(each, light.get(each.pk, ())):
            good.setdefault(kind_of(each), []).append(each)
    return [replace(each, last_good=_before(each.reading, good)) for each in readings]


def _before(reading: Reading, good: Mapping[Kind, list[Reading]]) -> Reading | None:
    of_kind = good.get(kind_of(reading), ())
    return next((each for each in of_kind if _moment(each) < _moment(reading)), None)


def _moment(reading: Reading) -> tuple[datetime, float]:
    """Return what orders readings of a point; one not recorded yet comes last of its moment."""
    return reading.taken_at, reading.pk or float("inf")


def _was_good(reading: Reading, light: Sequence[Lit]) -> bool:
    lit = _light_of(reading, light)
    if lit is None or reading.level_mdbm is None:
        return False
    return _verdict(reading, _expected_level(reading, lit)).outcome == Outcome.AS_EXPECTED
