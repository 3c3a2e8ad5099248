"""The picture of a path: the level at each hop, from the OLT at the top down to the point.

Level runs across, stronger to the right. Rows run downwards as the strip does, with its numbers
and the metres of fibre so far, so that the picture fits a phone and is read beside the strip. The
solid line is the typical level; the band around it reaches from the least to the most. The
receiver's window is hatched. A reading is a diamond when it is as expected, else a cross, with its
level in words.
Classes only: the content policy forbids inline styles.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from records.handover.figures import dbm, metres, number
from records.handover.picture_frame import TICK_DB, WIDTH, clipped, framed, light, range_dbm
from records.handover.readings_drawn import REACH, mark_of, words_of
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
    hops = path.hops
    window = path.lit.optical_class.down
    marks = list(readings)
    scale = _scale(hops, window, marks)
    height = _TOP + _ROW * len(hops) + _FOOT
    name = f"picture-{path.lit.channel_id}"
    parts = (
        _window(scale, window, height, name),
        _grid(scale, height),
        _rows(scale, hops),
        _light(scale, hops),
        _readings(scale, hops, marks),
    )
    return framed(name, _in_words(path, marks), height, parts)


def _scale(hops: Sequence[Hop], window: ClassDirection, readings: Iterable[Judged]) -> _Scale:
    weakest_dbm, strongest_dbm = range_dbm(hops, window, readings)
    return _Scale(weakest_dbm=weakest_dbm, strongest_dbm=strongest_dbm)


def _window(scale: _Scale, window: ClassDirection, height: int, name: str) -> SafeString:
    left, right = scale.x(needed_dbm(window)), scale.x(window.overload_dbm)
    bottom = height - _FOOT
    return format_html(
        '<rect class="window" x="{}" y="{}" width="{}" height="{}" fill="url(#{}-hatch)"/>'
        '<path class="limit" d="M{} {}V{}M{} {}V{}"/>'
        '<text class="words" x="{}" y="14" text-anchor="middle">a terminal needs</text>'
        '<text class="words" x="{}" y="28" text-anchor="middle">{} to {}</text>',
        left,
        _TOP,
        round(right - left, 1),
        bottom - _TOP,
        name,
        left,
        _TOP - 8,
        bottom,
        right,
        _TOP - 8,
        bottom,
        (left + right) / 2,
        (left + right) / 2,
        number(needed_dbm(window), 1),
        dbm(window.overload_dbm, 1),
    )


def _grid(scale: _Scale, height: int) -> SafeString:
    ticks = range(int(scale.weakest_dbm), int(scale.strongest_dbm) + 1, TICK_DB)
    every = 1 if len(ticks) <= 9 else 2  # noqa: PLR2004 (as many numbers as fit side by side)
    return format_html_join(
        "",
        '<path class="grid" d="M{} {}V{}"/><text class="tick" x="{}" y="{}" '
        'text-anchor="middle">{}</text>',
        (
            (
                scale.x(tick),
                _TOP,
                height - _FOOT,
                scale.x(tick),
                height - 12,
                _tick_words(tick, index, every, len(ticks)),
            )
            for index, tick in enumerate(ticks)
        ),
    )


def _tick_words(tick: int, index: int, every: int, count: int) -> str:
    """Return a tick's number, the last one with the unit; nothing for those in between."""
    if index == count - 1:
        return "dBm"
    return number(tick, 0) if index % every == 0 else ""


def _rows(scale: _Scale, hops: Sequence[Hop]) -> SafeString:
    """Name each row: a thing by its number in the strip, then the point it is left by."""
    rows = {hop.spot.point_id: row for row, hop in enumerate(hops)}
    words = []
    for stage in stages(hops):
        words.append((stage.enter, f"{stage.number} {stage.enter.spot.owner}"))
        if stage.leave is not None:
            words.append((stage.leave, _left_by(stage.leave)))
    return format_html_join(
        "",
        '<text class="hop" x="0" y="{}">{}</text>',
        ((scale.y(rows[hop.spot.point_id]) + 4, clipped(text, _LABEL_MAX)) for hop, text in words),
    )


def _left_by(hop: Hop) -> str:
    if hop.spot.cable_id is None:
        return hop.spot.label
    return f"{hop.spot.role}, {metres(hop.fibre_m)}"


def _light(scale: _Scale, hops: Sequence[Hop]) -> SafeString:
    def points(levels: Iterable[tuple[int, float]]) -> list[str]:
        return [f"{scale.x(level)},{scale.y(row)}" for row, level in levels]

    most = points((row, hop.level.most_dbm) for row, hop in enumerate(hops))
    least = points((row, hop.level.least_dbm) for row, hop in enumerate(hops))
    typical = points((row, hop.level.typical_dbm) for row, hop in enumerate(hops))
    dots = format_html_join(
        "",
        '<circle class="dot" cx="{}" cy="{}" r="3.5"/>',
        (point.split(",") for point in typical),
    )
    return light(least, typical, most, dots)


def _readings(scale: _Scale, hops: Sequence[Hop], readings: Iterable[Judged]) -> SafeString:
    rows = {hop.spot.point_id: row for row, hop in enumerate(hops)}
    return format_html_join(
        "", "{}", ((_reading(scale, each, rows[each.reading.point_id]),) for each in readings)
    )


def _reading(scale: _Scale, judged: Judged, row: int) -> SafeString:
    level_dbm = scale.weakest_dbm if judged.level_dbm is None else judged.level_dbm
    x, y = scale.x(level_dbm), scale.y(row)
    is_left = x < (_LEFT + WIDTH) / 2
    return format_html(
        '{}<text class="words read" x="{}" y="{}" text-anchor="{}">{}</text>',
        mark_of(judged, x, y),
        x + REACH + 4 if is_left else x - REACH - 4,
        y + 15,
        "start" if is_left else "end",
        words_of(judged),
    )


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
