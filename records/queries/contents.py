"""What is in a place: the places, equipment and cables there, and counts that stay cheap."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from records.models import DWELLINGS, Cable, Equipment, EquipmentKind, LegCondition, Place
from records.queries.engine import ids, in_ids, rows
from records.queries.legs import LegCounts, after_all_inside, leg_counts
from records.queries.words import natural

LARGE = 20_000
"""Places inside a place from which its legs are counted only when asked for."""

_CABLES_SHOWN = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """A place inside another one, with its dwellings and legs counted if that was asked for."""

    place: Place
    dwelling_count: int | None
    counts: LegCounts | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What stands in a place itself, not in the places inside it."""

    equipment: tuple[tuple[Equipment, LegCounts | None], ...]
    cables: tuple[Cable, ...]
    has_more_cables: bool


def contents(place: Place) -> Contents:
    """Return the equipment that stands in a place and the cables that begin or end there."""
    equipment = sorted(
        Equipment.objects.filter(place=place).select_related("entry", "optical_class"),
        key=lambda each: natural(f"{each.get_kind_display()} {each.name}"),
    )
    counts = leg_counts(each.pk for each in equipment if each.kind == EquipmentKind.SPLITTER)
    cables = Cable.objects.filter(a_place=place) | Cable.objects.filter(b_place=place)
    listed = list(cables.select_related("a_place", "b_place").order_by("pk")[: _CABLES_SHOWN + 1])
    return Contents(
        equipment=tuple((each, counts.get(each.pk)) for each in equipment),
        cables=tuple(sorted(listed[:_CABLES_SHOWN], key=lambda each: natural(each.name))),
        has_more_cables=len(listed) > _CABLES_SHOWN,
    )


def children(place: Place | None) -> list[int]:
    """Return the ids of the places right inside a place, or at the top, in natural order."""
    found = Place.objects.filter(retired=False, depth=place.depth + 1 if place else 1)
    if place is not None:
        found = found.filter(path__gte=place.path, path__lt=after_all_inside(place))
    named = found.values_list("pk", "name")
    return [pk for pk, _ in sorted(named, key=lambda row: natural(row[1]))]


def inside(place_ids: Sequence[int], *, is_counted: bool) -> list[Inside]:
    """Return places in the order of their ids, with their dwellings and legs if counted."""
    places = Place.objects.in_bulk(place_ids)
    dwellings = _dwelling_counts(place_ids) if is_counted else {}
    counts = _leg_counts(place_ids) if is_counted else {}
    return [
        Inside(
            place=places[pk],
            dwelling_count=dwellings.get(pk, 0) if is_counted else None,
            counts=counts.get(pk, LegCounts()) if is_counted else None,
        )
        for pk in place_ids
    ]


def is_large(place: Place | None) -> bool:
    """Tell whether counting what is in a place, or in all, takes a person's patience."""
    places = Place.objects.all()
    if place is not None:
        places = places.filter(path__gte=place.path, path__lt=after_all_inside(place))
    return bool(places[LARGE : LARGE + 1].exists())


_INSIDE = """
FROM records_place outer_place
JOIN records_place inner_place
  ON inner_place.path >= outer_place.path AND inner_place.path < outer_place.path || '~'
"""


def _dwelling_counts(place_ids: Iterable[int]) -> dict[int, int]:
    kinds = ", ".join(f"'{kind.value}'" for kind in DWELLINGS)
    found = rows(
        f"""SELECT outer_place.id, COUNT(*) {_INSIDE}
            WHERE {in_ids("outer_place.id")} AND inner_place.kind IN ({kinds})
              AND NOT inner_place.retired
            GROUP BY outer_place.id""",
        [ids(place_ids)],
    )
    return dict(found)


def _leg_counts(place_ids: Iterable[int]) -> dict[int, LegCounts]:
    found = rows(
        f"""SELECT outer_place.id, leg.condition, COUNT(*) {_INSIDE}
            JOIN records_equipment splitter
              ON splitter.place_id = inner_place.id AND splitter.kind = 'splitter'
            JOIN records_point leg ON leg.equipment_id = splitter.id AND leg.role = 'leg'
            WHERE {in_ids("outer_place.id")}
            GROUP BY outer_place.id, leg.condition""",
        [ids(place_ids)],
    )
    counts: dict[int, dict[str, int]] = {}
    for place, condition, number in found:
        counts.setdefault(place, {})[LegCondition(condition).value] = number
    return {place: LegCounts(**each) for place, each in counts.items()}
