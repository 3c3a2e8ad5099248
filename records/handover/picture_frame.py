"""What both pictures of a path share: their width, the range of levels, the light."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import ceil, floor

from records.handover.shapes import Corner, Dot, Polyline, Shape
from records.optics.classes import ClassDirection, needed_dbm
from records.queries.paths import Hop
from records.queries.readings import Judged

WIDTH = 420
TICK_DB = 5

Called = Callable[[Hop], str]
"""What the thing at a hop is called in the picture."""


def own_name(hop: Hop) -> str:
    """Return the name that the record has for the thing at a hop."""
    return hop.spot.owner


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
    least: Sequence[Corner], typical: Sequence[Corner], most: Sequence[Corner]
) -> Iterator[Shape]:
    """Yield the band from the least to the most and the typical line."""
    yield Polyline((*most, *reversed(least)), "band", is_area=True)
    yield Polyline(tuple(typical), "typical")


def dots(corners: Iterable[Corner], radius: float) -> Iterator[Dot]:
    """Yield a dot at each corner, one where several are the same."""
    return (Dot(x, y, radius) for x, y in dict.fromkeys(corners))


def clipped(text: str, most: int) -> str:
    """Return a text of at most so many characters, with an ellipsis where it was cut."""
    return text if len(text) <= most else f"{text[: most - 1]}\N{HORIZONTAL ELLIPSIS}"
