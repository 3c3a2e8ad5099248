"""How catalogue rows stand: confirmed by a person, or taken over by a newer version."""

from functools import reduce
from operator import or_

from django.db import models
from django.db.models import Q

from records.models.catalogue import CatalogueEntry, ClassDirection, Figure, SchemeColour
from records.models.changes import Change
from records.models.kept import kept

CONFIRMABLE = ("figure", "class_direction", "scheme_colour")
"""The fields of a confirmation of which exactly one is set: what was confirmed."""


def _only(row: str) -> Q:
    others = {f"{name}__isnull": True for name in CONFIRMABLE if name != row}
    return Q(**{f"{row}__isnull": False}, **others)


@kept(*CONFIRMABLE)
class Confirmation(models.Model):
    """A person's word that a row says what an edition of its source says, in which table.

    The row itself and its mark stay as they were loaded; the confirmation stands beside them.
    """

    figure = models.ForeignKey(
        Figure, on_delete=models.PROTECT, null=True, blank=True, related_name="confirmations"
    )
    class_direction = models.ForeignKey(
        ClassDirection,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="confirmations",
    )
    scheme_colour = models.ForeignKey(
        SchemeColour, on_delete=models.PROTECT, null=True, blank=True, related_name="confirmations"
    )
    edition = models.CharField(max_length=120)
    table = models.CharField(max_length=120)
    url = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=400, blank=True)
    change = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="confirmations")

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=reduce(or_, map(_only, CONFIRMABLE)), name="confirmation_is_of_one_row"
            ),
        )

    def __str__(self) -> str:
        return f"{self.edition}, {self.table}"


@kept("old")
class TakeOver(models.Model):
    """The version of a catalogue entry that takes over from another, in plant and all.

    `uses` is how many things used the old version when it began. What still uses it is what is
    left to do: the work can stop at any moment and go on from there.
    """

    old = models.OneToOneField(CatalogueEntry, on_delete=models.PROTECT, related_name="taken_over")
    new = models.OneToOneField(CatalogueEntry, on_delete=models.PROTECT, related_name="takes_over")
    uses = models.PositiveIntegerField()
    change = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="take_overs")

    def __str__(self) -> str:
        return f"{self.new} version {self.new.version} takes over from {self.old.version}"
