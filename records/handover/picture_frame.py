"""What both pictures of a path share: the frame with its hatch, the range of levels, the light."""

from collections.abc import Iterable, Sequence
from math import ceil, floor

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from records.optics.classes import ClassDirection, needed_dbm
from records.queries.paths import Hop
from records.queries.readings import Judged

WIDTH = 420
TICK_DB = 5


def framed(name: str, words: str, height: int, parts: Iterable[SafeString]) -> SafeString:
    """Return the parts as one picture under a name of its own, told in words, with its hatch."""
    return format_html(
        '<svg class="picture" viewBox="0 0 {} {}" role="img" aria-labelledby="{}">'
        '<title id="{}">{}</title>'
        '<defs><pattern id="{}-hatch" width="8" height="8" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0 0V8" class="hatch"/></pattern></defs>'
        "{}</svg>",
        WIDTH,
        height,
        name,
        name,
        words,
        name,
        format_html_join("", "{}", ((part,) for part in parts)),
    )


def range_dbm(
    hops: Sequence[Hop], window: ClassDirection, readings: Iterable[Judged]
) -> tuple[int, int]:
    """Return the weakest and the strongest level that a picture reaches, each at a tick."""
    levels = [hop.level.least_dbm for hop in hops] + [hop.level.most_dbm for hop in hops]
    levels += [needed_dbm(window), window.overload_dbm]
    levels += [each.level_dbm for each in readings if each.level_dbm is not None]
    return (
        floor((min(levels) - 1) / TICK_DB) * TICK_DB,
        ceil((max(levels) + 1) / TICK_DB) * TICK_DB,
    )


def light(
    least: Iterable[str], typical: Sequence[str], most: Iterable[str], dots: SafeString
) -> SafeString:
    """Return the band from the least to the most and the typical line, through points 'x,y'."""
    return format_html(
        '<polygon class="band" points="{}"/><polyline class="typical" points="{}"/>{}',
        " ".join([*most, *list(least)[::-1]]),
        " ".join(typical),
        dots,
    )


def clipped(text: str, most: int) -> str:
    """Return a text of at most so many characters, with an ellipsis where it was cut."""
    return text if len(text) <= most else f"{text[: most - 1]}\N{HORIZONTAL ELLIPSIS}"
