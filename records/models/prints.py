"""What was printed: runs of labels, the text of each, and which were seen since on the wall."""

import json
from collections.abc import Mapping

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.models.changes import Change
from records.models.kept import kept
from records.models.places import Place
from records.models.tags import TAGGED, Tag


class PrintFile(models.TextChoices):
    """What a run is printed from."""

    PDF = "pdf", "PDF"
    PNG = "png", "pictures, one a label (PNG)"


@kept()
class PrintRun(models.Model):
    """Labels printed in one go, with all it takes to print the very same bytes again.

    `chosen` says in words what was chosen. `stock` and `rules` are the stock's geometry and the
    owner's rules as they were then, in JSON with sorted keys. `start` counts labels of the first
    sheet from 1. `digest` is SHA-256 of the file.
    """

    change = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="print_runs")
    chosen = models.CharField(max_length=200)
    stock = models.TextField()
    rules = models.TextField()
    file = models.CharField(max_length=3, choices=PrintFile, default=PrintFile.PDF)
    start = models.PositiveIntegerField(default=1)
    right_mm = models.DecimalField(max_digits=4, decimal_places=2, default=0)
    down_mm = models.DecimalField(max_digits=4, decimal_places=2, default=0)
    has_outlines = models.BooleanField(default=False)
    label_count = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(file__in=PrintFile.values), name="print_run_file_is_known"
            ),
            models.CheckConstraint(
                condition=Q(label_count__gte=1, start__gte=1), name="print_run_has_a_label"
            ),
        )

    def __str__(self) -> str:
        return f"print run {self.pk}"


@kept()
class PrintedLabel(models.Model):
    """One label as it was printed: its kind, its code, and the text of each field it showed.

    `noun` and `thing` say what it was printed for, and stay when that is gone; both are empty for
    a blank tag. `place` is where it belonged. `spoiled` says why it never got to the wall.
    """

    run = models.ForeignKey(PrintRun, on_delete=models.PROTECT, related_name="labels")
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=20)
    tag = models.ForeignKey(
        Tag, on_delete=models.PROTECT, null=True, blank=True, related_name="printed"
    )
    noun = models.CharField(max_length=10, blank=True)
    thing = models.BigIntegerField(null=True, blank=True)
    cable_end = models.CharField(max_length=1, blank=True)
    tray = models.CharField(max_length=20, blank=True)
    texts = models.TextField()
    diameter_mm = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="printed_labels"
    )
    spoiled = models.CharField(max_length=200, blank=True)

    class Meta:
        indexes = (models.Index(fields=["noun", "thing"], name="printed_label_thing"),)
        constraints = (
            models.UniqueConstraint(
                fields=["run", "position"], name="printed_label_position_is_unique"
            ),
            models.CheckConstraint(
                condition=Q(noun="") ^ Q(thing__isnull=False),
                name="printed_label_is_for_one_thing_or_blank",
            ),
            models.CheckConstraint(
                condition=Q(noun__in=["", *TAGGED]), name="printed_label_noun_is_known"
            ),
        )

    def __str__(self) -> str:
        return f"label {self.position} of {self.run}"

    @property
    def fields(self) -> dict[str, str]:
        """Return the text of each field that it showed; empty where the field had none."""
        found: dict[str, str] = json.loads(self.texts)
        return found


def as_json(values: Mapping[str, object]) -> str:
    """Write values the one way, so that equal ones are equal texts."""
    return json.dumps(dict(values), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


class Sighting(models.Model):
    """A label that someone scanned. It is no part of the plant, so no change is made of it.

    `by` is cut out after its time (see changes/retention.py).
    """

    tag = models.ForeignKey(
        Tag, on_delete=models.PROTECT, related_name="sightings", db_index=False
    )
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="sightings",
    )

    class Meta:
        indexes = (models.Index(fields=["tag", "at"], name="sighting_tag_at"),)

    def __str__(self) -> str:
        return f"{self.tag} seen at {self.at}"
