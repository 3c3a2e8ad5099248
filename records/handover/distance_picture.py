"""The picture of a path to scale: the level against the metres of fibre from the OLT.

Where the other picture gives every hop a row, this one shows what distance costs and what is lost
at one place. The solid line is the typical level, the band around it reaches from the least to the
most, the receiver's window is hatched. Steep steps bear the number and name of the thing that the
strip has. A reading is a diamond when it is as expected, else a cross, with its level in words.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import floor, log10

from django.utils.safestring import SafeString

from records.handover.figures import dbm, metres, number
from records.handover.picture_frame import (
    TICK_DB,
    WIDTH,
    Called,
    clipped,
    dots,
    light,
    own_name,
    range_dbm,
)
from records.handover.picture_svg import svg
from records.handover.readings_drawn import REACH, mark_of, words_of
from records.handover.shapes import Anchor, Corner, Hatched, Picture, Shape, Stroke, Words
from records.handover.strip import stages
from records.optics.classes import ClassDirection, needed_dbm
from records.queries.paths import Hop, Path
from records.queries.readings import Judged

_HEIGHT = 330
_LEFT, _RIGHT, _TOP, _FOOT = 36, 16, 26, 44
_TICKS_ACROSS = 4
_STEEP_DB = 1.0
_LABEL_MAX = 22
_GAP = REACH + 4
_DOT = 3
_LINE = 12
"""The height of a line of words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """Where a length or a level lies in the picture."""

    weakest_dbm: float
    strongest_dbm: float
    furthest_m: float

    def x(self, length_m: float) -> float:
        return round(_LEFT + length_m / self.furthest_m * (WIDTH - _LEFT - _RIGHT), 1)

    def y(self, level_dbm: float) -> float:
        share = (self.strongest_dbm - level_dbm) / (self.strongest_dbm - self.weakest_dbm)
        return round(_TOP + share * (_HEIGHT - _TOP - _FOOT), 1)


def drawn(path: Path, readings: Iterable[Judged] = ()) -> SafeString:
    """Return the picture of a path to scale, with the readings taken along it, as SVG."""
    return svg(picture(path, readings))


def picture(path: Path, readings: Iterable[Judged] = (), called: Called = own_name) -> Picture:
    """Return the picture of a path to scale, with the readings taken along it."""
    marks = list(readings)
    window = path.lit.optical_class.down
    scale = _scale(path.hops, window, marks)
    return Picture(
        name=f"distance-{path.lit.channel_id}",
        words=_in_words(path),
        width=WIDTH,
        height=_HEIGHT,
        shapes=(
            *_grid(scale),
            *_window(scale, window),
            *_light(scale, path.hops),
            *_steps(scale, path, called),
            *_readings(scale, path.hops, marks),
        ),
    )


def _scale(hops: Sequence[Hop], window: ClassDirection, readings: Iterable[Judged]) -> _Scale:
    weakest_dbm, strongest_dbm = range_dbm(hops, window, readings)
    furthest_m = max(hops[-1].fibre_m, 1.0)
    return _Scale(weakest_dbm=weakest_dbm, strongest_dbm=strongest_dbm, furthest_m=furthest_m)


def _window(scale: _Scale, window: ClassDirection) -> Iterator[Shape]:
    top, bottom = scale.y(window.overload_dbm), scale.y(needed_dbm(window))
    right = WIDTH - _RIGHT
    needs = f"a terminal needs {dbm(needed_dbm(window), 1)}"
    yield Hatched(_LEFT, top, right - _LEFT, round(bottom - top, 1))
    yield Stroke(tuple(((_LEFT, y), (right, y)) for y in (top, bottom)), "limit")
    yield Words(_LEFT + 6, top + 14, f"at most {dbm(window.overload_dbm, 1)}", "words read")
    yield Words(_LEFT + 6, bottom - 5, needs, "words read")


def _grid(scale: _Scale) -> Iterator[Shape]:
    bottom, right = _HEIGHT - _FOOT, WIDTH - _RIGHT
    yield Words(0, 12, "dBm", "tick")
    yield Words(right, _HEIGHT - 6, "fibre from the OLT", "tick", "end")
    for level in range(int(scale.weakest_dbm), int(scale.strongest_dbm) + 1, TICK_DB):
        y = scale.y(level)
        yield Stroke((((_LEFT, y), (right, y)),), "grid")
        yield Words(_LEFT - 5, y + 4, number(level, 0), "tick", "end")
    across = _round_step(scale.furthest_m / _TICKS_ACROSS)
    for count in range(int(scale.furthest_m / across) + 1):
        x = scale.x(across * count)
        yield Stroke((((x, _TOP), (x, bottom)),), "grid")
        yield Words(x, bottom + 16, metres(across * count), "tick", "middle")


def _round_step(rough_m: float) -> float:
    """Return the next 1, 2 or 5 times a power of ten, so that the ticks are round numbers."""
    power = 10.0 ** floor(log10(rough_m))
    return next((step * power for step in (1, 2, 5) if step * power >= rough_m), 10 * power)


def _light(scale: _Scale, hops: Sequence[Hop]) -> Iterator[Shape]:
    def corners(levels: Iterable[tuple[float, float]]) -> list[Corner]:
        return [(scale.x(length), scale.y(level)) for length, level in levels]

    most = corners((hop.fibre_m, hop.level.most_dbm) for hop in hops)
    least = corners((hop.fibre_m, hop.level.least_dbm) for hop in hops)
    typical = corners((hop.fibre_m, hop.level.typical_dbm) for hop in hops)
    yield from light(least, typical, most)
    yield from dots(typical, _DOT)


def _steps(scale: _Scale, path: Path, called: Called) -> Iterator[Shape]:
    """Name the things that lose much at one place, as the strip numbers them."""
    window = path.lit.optical_class.down
    limits = [scale.y(window.overload_dbm), scale.y(needed_dbm(window))]
    for stage in stages(path.hops):
        lost_db = stage.enter.level.typical_dbm - stage.last.level.typical_dbm
        if lost_db >= _STEEP_DB and stage.last.fibre_m == stage.enter.fibre_m:
            x = scale.x(stage.last.fibre_m)
            middle_dbm = (stage.enter.level.typical_dbm + stage.last.level.typical_dbm) / 2
            y = _clear_of(limits, scale.y(middle_dbm))
            words = f"{stage.number} {called(stage.enter)}, {number(lost_db, 1)} dB"
            yield Words(_beside(x), y + 4, clipped(words, _LABEL_MAX), "words read", _anchor(x))


def _clear_of(lines: Iterable[float], y: float) -> float:
    """Return where words stand that would lie on a line: just above it."""
    return next((line - _LINE for line in lines if abs(line - y) < _LINE), y)


def _beside(x: float) -> float:
    return x + _GAP if _anchor(x) == "start" else x - _GAP


def _anchor(x: float) -> Anchor:
    return "start" if x < (_LEFT + WIDTH) / 2 else "end"


def _readings(scale: _Scale, hops: Sequence[Hop], readings: Iterable[Judged]) -> Iterator[Shape]:
    at = {hop.spot.point_id: hop.fibre_m for hop in hops}
    for judged in readings:
        level_dbm = scale.weakest_dbm if judged.level_dbm is None else judged.level_dbm
        x, y = scale.x(at[judged.reading.point_id]), scale.y(level_dbm)
        yield mark_of(judged, x, y)
        yield Words(_beside(x), y + 4, words_of(judged), "words read", _anchor(x))


def _in_words(path: Path) -> str:
    lit = path.lit
    return (
        f"{lit.name}, level against distance: from {dbm(lit.launch.typical_dbm)} at the OLT to "
        f"{dbm(lit.level.typical_dbm)} after {metres(lit.fibre_m)} of fibre."
    )
