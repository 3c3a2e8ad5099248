"""Places: where things stand. They form a tree, from an estate down to a flat."""

from django.db import models
from django.db.models import Q
from treebeard.mp_tree import MP_Node

from records.models.kept import kept


class PlaceKind(models.TextChoices):
    """Kinds of place, in the trade's words."""

    ESTATE = "estate", "estate"
    BUILDING = "building", "building"
    FLOOR = "floor", "floor"
    FLAT = "flat", "flat"
    HOUSE = "house", "house"
    UNIT = "unit", "unit"
    CUPBOARD = "riser cupboard", "riser cupboard"
    CABINET = "cabinet", "cabinet"
    CHAMBER = "chamber", "chamber"
    POLE = "pole", "pole"
    HEAD_END = "head-end", "head-end"


DWELLINGS = (PlaceKind.FLAT, PlaceKind.HOUSE, PlaceKind.UNIT)
"""The kinds of place that can have a line and a home terminal."""


@kept("path", ignore=("numchild",))
class Place(MP_Node):
    """Anywhere a thing can be. `storey` counts floors from 0, the ground floor."""

    steplen = 5
    kind = models.CharField(max_length=20, choices=PlaceKind)
    name = models.CharField(max_length=80)
    storey = models.SmallIntegerField(null=True, blank=True)
    latitude_deg = models.FloatField(null=True, blank=True)
    longitude_deg = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(kind__in=PlaceKind.values), name="place_kind_is_known"
            ),
            models.CheckConstraint(
                condition=Q(latitude_deg__isnull=True)
                | Q(latitude_deg__gte=-90, latitude_deg__lte=90),
                name="place_latitude_is_on_earth",
            ),
            models.CheckConstraint(
                condition=Q(longitude_deg__isnull=True)
                | Q(longitude_deg__gte=-180, longitude_deg__lte=180),
                name="place_longitude_is_on_earth",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def is_dwelling(self) -> bool:
        """Tell whether a line can belong here."""
        return self.kind in DWELLINGS
