"""The picture of a path to scale: the level against the metres of fibre from the OLT.

Where the other picture gives every hop a row, this one shows what distance costs and what is lost
at one place. The solid line is the typical level, the band around it reaches from the least to the
most, the receiver's window is hatched. Steep steps bear the number and name of the thing that the
strip has. A reading is a diamond when it is as expected, else a cross, with its level in words.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, log10

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from records.handover.figures import dbm, metres, number
from records.handover.picture_frame import TICK_DB, WIDTH, clipped, framed, light, range_dbm
from records.handover.readings_drawn import REACH, mark_of, words_of
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
    marks = list(readings)
    window = path.lit.optical_class.down
    scale = _scale(path.hops, window, marks)
    name = f"distance-{path.lit.channel_id}"
    parts = (
        _grid(scale),
        _window(scale, window, name),
        _light(scale, path.hops),
        _steps(scale, path.hops),
        _readings(scale, path.hops, marks),
    )
    return framed(name, _in_words(path), _HEIGHT, parts)


def _scale(hops: Sequence[Hop], window: ClassDirection, readings: Iterable[Judged]) -> _Scale:
    weakest_dbm, strongest_dbm = range_dbm(hops, window, readings)
    furthest_m = max(hops[-1].fibre_m, 1.0)
    return _Scale(weakest_dbm=weakest_dbm, strongest_dbm=strongest_dbm, furthest_m=furthest_m)


def _window(scale: _Scale, window: ClassDirection, name: str) -> SafeString:
    top, bottom = scale.y(window.overload_dbm), scale.y(needed_dbm(window))
    right = WIDTH - _RIGHT
    return format_html(
        '<rect class="window" x="{}" y="{}" width="{}" height="{}" fill="url(#{}-hatch)"/>'
        '<path class="limit" d="M{} {}H{}M{} {}H{}"/>'
        '<text class="words read" x="{}" y="{}">at most {}</text>'
        '<text class="words read" x="{}" y="{}">a terminal needs {}</text>',
        _LEFT,
        top,
        right - _LEFT,
        round(bottom - top, 1),
        name,
        _LEFT,
        top,
        right,
        _LEFT,
        bottom,
        right,
        _LEFT + 6,
        top + 14,
        dbm(window.overload_dbm, 1),
        _LEFT + 6,
        bottom - 5,
        dbm(needed_dbm(window), 1),
    )


def _grid(scale: _Scale) -> SafeString:
    bottom, right = _HEIGHT - _FOOT, WIDTH - _RIGHT
    levels = range(int(scale.weakest_dbm), int(scale.strongest_dbm) + 1, TICK_DB)
    across = _round_step(scale.furthest_m / _TICKS_ACROSS)
    lengths = [across * count for count in range(int(scale.furthest_m / across) + 1)]
    return format_html(
        '{}{}<text class="tick" x="0" y="12">dBm</text>'
        '<text class="tick" x="{}" y="{}" text-anchor="end">fibre from the OLT</text>',
        format_html_join(
            "",
            '<path class="grid" d="M{} {}H{}"/>'
            '<text class="tick" x="{}" y="{}" text-anchor="end">{}</text>',
            (
                (_LEFT, scale.y(level), right, _LEFT - 5, scale.y(level) + 4, number(level, 0))
                for level in levels
            ),
        ),
        format_html_join(
            "",
            '<path class="grid" d="M{} {}V{}"/>'
            '<text class="tick" x="{}" y="{}" text-anchor="middle">{}</text>',
            (
                (scale.x(length), _TOP, bottom, scale.x(length), bottom + 16, metres(length))
                for length in lengths
            ),
        ),
        right,
        _HEIGHT - 6,
    )


def _round_step(rough_m: float) -> float:
    """Return the next 1, 2 or 5 times a power of ten, so that the ticks are round numbers."""
    power = 10.0 ** floor(log10(rough_m))
    return next((step * power for step in (1, 2, 5) if step * power >= rough_m), 10 * power)


def _light(scale: _Scale, hops: Sequence[Hop]) -> SafeString:
    def points(levels: Iterable[tuple[float, float]]) -> list[str]:
        return [f"{scale.x(length)},{scale.y(level)}" for length, level in levels]

    most = points((hop.fibre_m, hop.level.most_dbm) for hop in hops)
    least = points((hop.fibre_m, hop.level.least_dbm) for hop in hops)
    typical = points((hop.fibre_m, hop.level.typical_dbm) for hop in hops)
    dots = format_html_join(
        "",
        '<circle class="dot" cx="{}" cy="{}" r="3"/>',
        (point.split(",") for point in dict.fromkeys(typical)),
    )
    return light(least, typical, most, dots)


def _steps(scale: _Scale, hops: Sequence[Hop]) -> SafeString:
    """Name the things that lose much at one place, as the strip numbers them."""
    steep = []
    for stage in stages(hops):
        lost_db = stage.enter.level.typical_dbm - stage.last.level.typical_dbm
        if lost_db >= _STEEP_DB and stage.last.fibre_m == stage.enter.fibre_m:
            middle_dbm = (stage.enter.level.typical_dbm + stage.last.level.typical_dbm) / 2
            words = f"{stage.number} {stage.enter.spot.owner}, {number(lost_db, 1)} dB"
            steep.append((scale.x(stage.last.fibre_m), scale.y(middle_dbm), words))
    return format_html_join(
        "",
        '<text class="words read" x="{}" y="{}" text-anchor="{}">{}</text>',
        ((_beside(x), y + 4, _anchor(x), clipped(words, _LABEL_MAX)) for x, y, words in steep),
    )


def _beside(x: float) -> float:
    return x + _GAP if _anchor(x) == "start" else x - _GAP


def _anchor(x: float) -> str:
    return "start" if x < (_LEFT + WIDTH) / 2 else "end"


def _readings(scale: _Scale, hops: Sequence[Hop], readings: Iterable[Judged]) -> SafeString:
    at = {hop.spot.point_id: hop.fibre_m for hop in hops}
    return format_html_join("", "{}", ((_reading(scale, each, at),) for each in readings))


def _reading(scale: _Scale, judged: Judged, at: dict[int, float]) -> SafeString:
    level_dbm = scale.weakest_dbm if judged.level_dbm is None else judged.level_dbm
    x, y = scale.x(at[judged.reading.point_id]), scale.y(level_dbm)
    return format_html(
        '{}<text class="words read" x="{}" y="{}" text-anchor="{}">{}</text>',
        mark_of(judged, x, y),
        _beside(x),
        y + 4,
        _anchor(x),
        words_of(judged),
    )


def _in_words(path: Path) -> str:
    lit = path.lit
    return (
        f"{lit.name}, level against distance: from {dbm(lit.launch.typical_dbm)} at the OLT to "
        f"{dbm(lit.level.typical_dbm)} after {metres(lit.fibre_m)} of fibre."
    )
