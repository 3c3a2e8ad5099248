"""What assessors stated of the light that can be met at places. Nothing here is computed."""

from collections.abc import Iterable

from django.db.models import QuerySet

from records.models import HazardStatement, Place


def statements_for(places: Iterable[Place]) -> dict[int, HazardStatement]:
    """Return the statement that holds at each of these places: its latest not withdrawn."""
    made = HazardStatement.objects.filter(place__in=list(places), withdrawn="")
    return {each.place_id: each for each in made.order_by("stated_date", "pk")}


def statements_of(place: Place) -> "QuerySet[HazardStatement]":
    """Return all statements for a place, the latest first, withdrawn ones too."""
    return HazardStatement.objects.filter(place=place).order_by("-stated_date", "-pk")
