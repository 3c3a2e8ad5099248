"""Where a change was made: the places of all that it touched."""

from collections.abc import Iterable, Iterator
from itertools import takewhile
from typing import Any

from records.models import KEPT, Cable, Equipment, Line, Passage, Place, Point
from records.queries.deltas import Delta, Row


def around(changed: Delta) -> int | None:
    """Return the smallest place around all that a change touched; None where it touched none."""
    places = {pk for pk in _places(changed) if pk is not None}
    paths = list(Place.objects.filter(pk__in=places).values_list("path", flat=True))
    ways = [
        [path[:end] for end in range(Place.steplen, len(path) + 1, Place.steplen)]
        for path in paths
    ]
    shared = [way[0] for way in takewhile(_is_one, zip(*ways, strict=False))]
    found: Place | None = Place.objects.filter(path__in=shared[-1:]).first()
    return found.pk if found else None


def _is_one(paths: tuple[str, ...]) -> bool:
    return len(set(paths)) == 1


def _places(changed: Delta) -> Iterator[int | None]:
    yield from changed["place"]
    for noun, columns in (
        ("equipment", ("place_id",)),
        ("cable", ("a_place_id", "b_place_id")),
        ("line", ("place_id",)),
    ):
        for row in _rows(changed, noun):
            yield from (row[column] for column in columns)
    yield from _of(Line, [row["line_id"] for row in _rows(changed, "booking")], "place_id")
    yield from _of_points(
        [
            *changed["point"],
            *changed["jointend"],
            *(row["leg_id"] for row in _rows(changed, "booking")),
            *(row["point_id"] for row in _rows(changed, "channel")),
            *(row["point_id"] for row in _rows(changed, "reading")),
        ],
        [row["cable_id"] for row in _rows(changed, "passage")],
    )


def _rows(changed: Delta, noun: str) -> Iterator[Row]:
    for turn in changed[noun].values():
        yield from (row for row in (turn.before, turn.after) if row)


def _of_points(points: Iterable[int], cables: Iterable[int | None]) -> Iterator[int | None]:
    found = set(points)
    yield from _of(Equipment, _of(Point, found, "equipment_id"), "place_id")
    of_fibres = _of(Passage, _of(Point, found, "passage_id"), "cable_id")
    wanted = {pk for pk in (*of_fibres, *cables) if pk is not None}
    yield from _of(Cable, wanted, "a_place_id")
    yield from _of(Cable, wanted, "b_place_id")


def _of(model: Any, keys: Iterable[int | None], column: str) -> set[int | None]:
    """Return a column of things by their ids, also of things that are gone."""
    wanted = {pk for pk in keys if pk is not None}
    versions: Any = KEPT[model].objects
    return set(versions.filter(id__in=wanted).values_list(column, flat=True).distinct())
