"""The picture of a path: the level at each hop, from the OLT at the top down to the point.

Level runs across, stronger to the right. Rows run downwards as the strip does, with its numbers
and the metres of fibre so far, so that the picture fits a phone and is read beside the strip. The
solid line is the typical level; the band around it reaches from the least to the most. The
receiver's window is hatched. A reading is a diamond when it is as expected, else a cross, with its
level in words.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from records.handover.figures import dbm, metres, number
from records.handover.picture_frame import TICK_DB, WIDTH, clipped, dots, light, range_dbm
from records.handover.picture_svg import svg
from records.handover.readings_drawn import REACH, mark_of, words_of
from records.handover.shapes import Anchor, Corner, Hatched, Picture, Shape, Stroke, Words
from records.handover.strip import stages
from records.models import Direction
from records.optics.classes import ClassDirection, needed_dbm
from records.queries.paths import Hop, Path
from records.queries.readings import Judged

_LEFT = 132
_RIGHT = 14
_TOP = 54
_ROW = 30
_FOOT = 30
_LABEL_MAX = 19
_DOT = 3.5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """Where a level or a row lies in the picture."""

    weakest_dbm: float
    strongest_dbm: float

    def x(self, level_dbm: float) -> float:
        share = (level_dbm - self.weakest_dbm) / (self.strongest_dbm - self.weakest_dbm)
        return round(_LEFT + share * (WIDTH - _LEFT - _RIGHT), 1)

    @staticmethod
    def y(row: int) -> float:
        return _TOP + _ROW * row + _ROW / 2


def of_channel(path: Path, readings: Iterable[Judged]) -> list[Judged]:
    """Return the down readings that were held against the light of a path."""
    return [
        each
        for each in readings
        if each.lit is not None
        and each.lit.channel_id == path.lit.channel_id
        and each.reading.direction == Direction.DOWN
    ]


def drawn(path: Path, readings: Iterable[Judged] = ()) -> SafeString:
    """Return the picture of a path, with the readings taken along it, as SVG."""
    return svg(picture(path, readings))


def picture(path: Path, readings: Iterable[Judged] = ()) -> Picture:
    """Return the picture of a path, with the readings taken along it."""
    hops = path.hops
    window = path.lit.optical_class.down
    marks = list(readings)
    scale = _scale(hops, window, marks)
    height = _TOP + _ROW * len(hops) + _FOOT
    return Picture(
        name=f"picture-{path.lit.channel_id}",
        words=_in_words(path, marks),
        width=WIDTH,
        height=height,
        shapes=(
            *_window(scale, window, height),
            *_grid(scale, height),
            *_rows(scale, hops),
            *_light(scale, hops),
            *_readings(scale, hops, marks),
        ),
    )


def _scale(hops: Sequence[Hop], window: ClassDirection, readings: Iterable[Judged]) -> _Scale:
    weakest_dbm, strongest_dbm = range_dbm(hops, window, readings)
    return _Scale(weakest_dbm=weakest_dbm, strongest_dbm=strongest_dbm)


def _window(scale: _Scale, window: ClassDirection, height: int) -> Iterator[Shape]:
    left, right = scale.x(needed_dbm(window)), scale.x(window.overload_dbm)
    bottom, middle = height - _FOOT, (left + right) / 2
    limits = f"{number(needed_dbm(window), 1)} to {dbm(window.overload_dbm, 1)}"
    yield Hatched(left, _TOP, round(right - left, 1), bottom - _TOP)
    yield Stroke(tuple(((x, _TOP - 8), (x, bottom)) for x in (left, right)), "limit")
    yield Words(middle, 14, "a terminal needs", "words", "middle")
    yield Words(middle, 28, limits, "words", "middle")


def _grid(scale: _Scale, height: int) -> Iterator[Shape]:
    ticks = range(int(scale.weakest_dbm), int(scale.strongest_dbm) + 1, TICK_DB)
    every = 1 if len(ticks) <= 9 else 2  # noqa: PLR2004 (as many numbers as fit side by side)
    for index, tick in enumerate(ticks):
        x = scale.x(tick)
        yield Stroke((((x, _TOP), (x, height - _FOOT)),), "grid")
        words = _tick_words(tick, index, every, len(ticks))
        yield Words(x, height - 12, words, "tick", "middle")


def _tick_words(tick: int, index: int, every: int, count: int) -> str:
    """Return a tick's number, the last one with the unit; nothing for those in between."""
    if index == count - 1:
        return "dBm"
    return number(tick, 0) if index % every == 0 else ""


def _rows(scale: _Scale, hops: Sequence[Hop]) -> Iterator[Shape]:
    """Name each row: a thing by its number in the strip, then the point it is left by."""
    rows = {hop.spot.point_id: row for row, hop in enumerate(hops)}
    words = []
    for stage in stages(hops):
        words.append((stage.enter, f"{stage.number} {stage.enter.spot.owner}"))
        if stage.leave is not None:
            words.append((stage.leave, _left_by(stage.leave)))
    for hop, text in words:
        yield Words(0, scale.y(rows[hop.spot.point_id]) + 4, clipped(text, _LABEL_MAX), "hop")


def _left_by(hop: Hop) -> str:
    if hop.spot.cable_id is None:
        return hop.spot.label
    return f"{hop.spot.role}, {metres(hop.fibre_m)}"


def _light(scale: _Scale, hops: Sequence[Hop]) -> Iterator[Shape]:
    def corners(levels: Iterable[float]) -> list[Corner]:
        return [(scale.x(level), scale.y(row)) for row, level in enumerate(levels)]

    most = corners(hop.level.most_dbm for hop in hops)
    least = corners(hop.level.least_dbm for hop in hops)
    typical = corners(hop.level.typical_dbm for hop in hops)
    yield from light(least, typical, most)
    yield from dots(typical, _DOT)


def _readings(scale: _Scale, hops: Sequence[Hop], readings: Iterable[Judged]) -> Iterator[Shape]:
    rows = {hop.spot.point_id: row for row, hop in enumerate(hops)}
    for judged in readings:
        level_dbm = scale.weakest_dbm if judged.level_dbm is None else judged.level_dbm
        x, y = scale.x(level_dbm), scale.y(rows[judged.reading.point_id])
        is_left = x < (_LEFT + WIDTH) / 2
        beside = x + REACH + 4 if is_left else x - REACH - 4
        yield mark_of(judged, x, y)
        anchor: Anchor = "start" if is_left else "end"
        yield Words(beside, y + 15, words_of(judged), "words read", anchor)


def _in_words(path: Path, readings: Sequence[Judged]) -> str:
    lit = path.lit
    window = lit.optical_class.down
    words = (
        f"{lit.name}: the level falls from {dbm(lit.launch.typical_dbm)} at the OLT over "
        f"{len(path.hops) - 1} steps to {dbm(lit.level.typical_dbm)} here; a terminal needs "
        f"{dbm(needed_dbm(window))} to {dbm(window.overload_dbm)}."
    )
    if readings:
        words += f" {len(readings)} readings along it are marked."
    return words
