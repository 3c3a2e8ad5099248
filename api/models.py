"""Answers kept for a day, so that a request can be repeated safely."""

from django.conf import settings
from django.db import models


class KeptAnswer(models.Model):
    """What a request with an Idempotency-Key was, and what it was answered.

    `fingerprint` tells the same request from another. While it runs, `answer` is null and `ticket`
    says whose turn it is: the answer is written by its holder, in the transaction of the change.
    """

    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kept_answers"
    )
    key = models.CharField(max_length=100)
    fingerprint = models.CharField(max_length=64)
    ticket = models.UUIDField()
    begun_at = models.DateTimeField(db_index=True)
    answer = models.JSONField(null=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["actor", "key"], name="kept_answer_key_is_unique"),
        )

    def __str__(self) -> str:
        return f"answer to {self.key}"
