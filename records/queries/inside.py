"""What stands in a place and in the places inside it, found by a range of paths."""

from typing import TypeVar

from django.db.models import Model, QuerySet

from records.models import Place
from records.queries.legs import after_all_inside

M = TypeVar("M", bound=Model)


def places_in(place: Place) -> "QuerySet[Place]":
    """Return a place and those inside it that are not retired, by path."""
    found: QuerySet[Place] = standing_in(Place.objects.filter(retired=False), place, "")
    return found.order_by("path")


def standing_in(rows_of: QuerySet[M], place: Place, to_place: str) -> QuerySet[M]:
    """Return the rows that stand in a place; `to_place` leads from a row to its place."""
    first, after = f"{to_place}path__gte", f"{to_place}path__lt"
    return rows_of.filter(**{first: place.path, after: after_all_inside(place)})


def by_id_in(rows_of: QuerySet[M], place: Place, to_place: str) -> dict[int, M]:
    """Return the rows that stand in a place, by id, in its order."""
    return {each.pk: each for each in standing_in(rows_of, place, to_place).order_by("pk")}


def by_id_at_either_end(rows_of: QuerySet[M], place: Place, to_cable: str) -> dict[int, M]:
    """Return the rows of cables that begin or end in a place, by id.

    Two queries, each with its index, where one with OR would have none.
    """
    begins = by_id_in(rows_of, place, f"{to_cable}a_place__")
    return begins | by_id_in(rows_of, place, f"{to_cable}b_place__")
