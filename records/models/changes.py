"""The change: one committed alteration of the record."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class Change(models.Model):
    """Who altered the record, when, why, and what it did.

    `number` orders changes; no clock does. A change is open (`sealed` false) only inside its own
    transaction, and only one can be: that row tells the history triggers which change is writing.
    `digest` chains it to the change before (see queries/chain.py). `job` is the job it belongs to.
    """

    number = models.BigAutoField(primary_key=True)
    verb = models.CharField(max_length=40)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="changes"
    )
    job = models.ForeignKey(
        "Job", on_delete=models.PROTECT, null=True, blank=True, related_name="changes"
    )
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    sealed = models.BooleanField(default=False)
    effect = models.JSONField(default=dict)
    digest = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["sealed"], condition=Q(sealed=False), name="change_only_one_is_open"
            ),
        )

    def __str__(self) -> str:
        return f"change {self.number}"
