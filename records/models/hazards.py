"""Hazard statements: what an assessor said of the light that can be met at a place."""

from django.db import models
from django.db.models import Q

from records.models.kept import kept
from records.models.places import Place


class HazardLevel(models.TextChoices):
    """Hazard levels of optical fibre systems.

    Source: IEC 60825-2, by the Finnish radiation authority's list of levels by kind of place.
    """

    ONE = "1", "1"
    ONE_M = "1M", "1M"
    TWO = "2", "2"
    TWO_M = "2M", "2M"
    THREE_R = "3R", "3R"
    THREE_B = "3B", "3B"
    FOUR = "4", "4"


@kept("place")
class HazardStatement(models.Model):
    """A level as a named assessor stated it for a place on a day. It is never computed.

    The latest one of a place that isn't withdrawn holds.
    """

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="hazard_statements")
    level = models.CharField(max_length=2, choices=HazardLevel)
    assessor = models.CharField(max_length=80)
    stated_date = models.DateField()
    note = models.CharField(max_length=200, blank=True)
    withdrawn = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(level__in=HazardLevel.values), name="hazard_level_is_known"
            ),
        )

    def __str__(self) -> str:
        return f"hazard level {self.level}, stated {self.stated_date}"
