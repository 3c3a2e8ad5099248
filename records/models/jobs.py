"""The job: steps planned by one person, agreed by another, done on site and recorded."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.models.places import Place


class JobState(models.TextChoices):
    """How far a job has come. Done on site is not done: only what is recorded closes a job."""

    DRAFTED = "drafted", "drafted"
    APPROVED = "approved", "approved"
    BUILT = "built", "built, not recorded"
    RECORDED = "recorded", "recorded"
    DROPPED = "dropped", "dropped"


OPEN_JOB_STATES = (JobState.DRAFTED, JobState.APPROVED, JobState.BUILT)


class JobQuerySet(models.QuerySet["Job"]):
    """Jobs."""

    def open(self) -> "JobQuerySet":
        """Return those that are neither recorded nor dropped."""
        return self.filter(state__in=OPEN_JOB_STATES)

    def built_not_recorded(self) -> "JobQuerySet":
        """Return those done on site of which the record doesn't know yet."""
        return self.filter(state=JobState.BUILT)


class Job(models.Model):
    """A named set of ordered steps for a place. It is a plan, no plant, so it has no history twin.

    `revision` counts saves: an edit names the one it started from. `planned_by` is who last edited
    the steps, whoever saved the name or the date since. `steps` is a list of `{verb, arguments,
    note}`, to which a step done adds `{done_at, done_by, change, made}` (see changes/steps.py).
    `preview` is the latest preview's report, empty before the first and after an edit. The changes
    that a job made carry it (`Change.job`), drafts and approvals too.
    """

    name = models.CharField(max_length=120)
    reference = models.CharField(max_length=60, blank=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="jobs")
    assignee = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="jobs_assigned",
    )
    due_date = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=JobState, default=JobState.DRAFTED)
    revision = models.PositiveIntegerField(default=1)
    steps = models.JSONField(default=list, blank=True)
    preview = models.JSONField(default=dict, blank=True)
    saved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="jobs_saved"
    )
    saved_at = models.DateTimeField()
    planned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="jobs_planned"
    )
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="jobs_approved",
    )
    approved_revision = models.PositiveIntegerField(null=True, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        indexes = (models.Index(fields=["state", "due_date"], name="job_state_due_date"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=JobState.values), name="job_state_is_known"
            ),
            models.UniqueConstraint(
                fields=["reference"],
                condition=~Q(reference=""),
                name="job_reference_is_unique",
                violation_error_code="name_taken",
            ),
            models.CheckConstraint(
                condition=Q(approved_by__isnull=True) ^ Q(approved_revision__isnull=False),
                name="job_approval_names_its_revision",
            ),
        )

    def __str__(self) -> str:
        return f"{self.reference} {self.name}".strip()

    @property
    def done_count(self) -> int:
        """Return how many steps are recorded: always the first ones."""
        return sum(1 for step in self.steps if step.get("change"))

    @property
    def is_open(self) -> bool:
        """Tell whether the job is neither recorded nor dropped."""
        return self.state in OPEN_JOB_STATES

    @property
    def has_current_preview(self) -> bool:
        """Tell whether the kept preview is of the job as it is now, with what is left to do."""
        seen = self.preview
        return bool(
            seen
            and seen["revision"] == self.revision
            and seen["first_step"] == self.done_count + 1
        )

    @property
    def is_edited_since_approval(self) -> bool:
        """Tell whether the steps differ from those that were approved."""
        return self.approved_revision is not None and self.approved_revision != self.revision

    @property
    def is_approved_by_planner(self) -> bool:
        """Tell whether nobody took a second look: who planned the job, an owner, approved it."""
        return self.approved_by_id == self.planned_by_id and not self.is_edited_since_approval
