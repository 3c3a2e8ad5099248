"""Tags: short label codes bound to one thing, or printed blank and bound later."""

from django.db import models
from django.db.models import Q

from records.models.kept import kept
from records.models.places import Place
from records.models.plant import Cable, Equipment, Point
from records.models.service import Line

TAGGED = ("point", "equipment", "place", "line", "cable")
"""The fields of which at most one is set: what a tag hangs on."""


def _at_most_one_thing() -> Q:
    allowed = Q(**{f"{name}__isnull": True for name in TAGGED})
    for thing in TAGGED:
        others = {f"{name}__isnull": True for name in TAGGED if name != thing}
        allowed |= Q(**{f"{thing}__isnull": False}, **others)
    return allowed


@kept("code", *TAGGED)
class Tag(models.Model):
    """A code for ever. It changes with the sticker; the thing's own identifier does not."""

    code = models.CharField(max_length=8, unique=True)
    point = models.ForeignKey(
        Point, on_delete=models.PROTECT, null=True, blank=True, related_name="tags"
    )
    equipment = models.ForeignKey(
        Equipment, on_delete=models.PROTECT, null=True, blank=True, related_name="tags"
    )
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="tags"
    )
    line = models.ForeignKey(
        Line, on_delete=models.PROTECT, null=True, blank=True, related_name="tags"
    )
    cable = models.ForeignKey(
        Cable, on_delete=models.PROTECT, null=True, blank=True, related_name="tags"
    )
    cable_end = models.CharField(max_length=1, choices=[("A", "A"), ("B", "B")], blank=True)
    voided = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(condition=_at_most_one_thing(), name="tag_is_on_one_thing"),
            models.CheckConstraint(
                condition=Q(cable__isnull=True) ^ Q(cable_end__in=["A", "B"]),
                name="tag_on_a_cable_names_its_end",
            ),
        )

    def __str__(self) -> str:
        return self.code
