"""Jobs and what their verbs take; job_deeds.py tries and records them, job_sheet.py drafts one."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter, YesNoFilter
from api.nouns import NounViewSet
from api.shapes import Id, Text, VerbShape, Whole
from records.models import Job, JobState


class StepSerializer(serializers.Serializer[Any]):
    """One planned deed: a verb by name, its arguments, and a note for whoever does it.

    An argument that names a thing is an id, or refers to what an earlier step makes, such as
    `{"step": 1}` or `{"step": 1, "port": "leg 3"}`. A step that is done tells when, by whom (the
    id of a user), in which change, and what it made.
    """

    verb = serializers.CharField()
    arguments = serializers.DictField()
    note = serializers.CharField(required=False)
    done_at = serializers.DateTimeField(required=False, read_only=True)
    done_by = serializers.IntegerField(required=False, read_only=True)
    change = serializers.IntegerField(required=False, read_only=True)
    made = serializers.DictField(required=False, read_only=True)


class JobSerializer(serializers.ModelSerializer[Job]):
    """A named set of ordered steps for a place. `preview` is empty before the first one.

    `planned_by` last edited the steps, whoever saved the name or the date since.
    `is_approved_by_planner`: an owner approved their own plan, and nobody took a second look.
    """

    place_name = serializers.CharField(source="place.name", read_only=True)
    done_count = serializers.IntegerField(read_only=True)
    saved_by = serializers.CharField(source="saved_by.username", read_only=True)
    planned_by = serializers.CharField(source="planned_by.username", read_only=True)
    approved_by = serializers.CharField(
        source="approved_by.username", allow_null=True, read_only=True
    )
    is_approved_by_planner = serializers.BooleanField(read_only=True)
    assignee_name = serializers.CharField(
        source="assignee.username", allow_null=True, read_only=True
    )
    steps = StepSerializer(many=True, read_only=True)

    class Meta:
        model = Job
        fields = (
            "id",
            "name",
            "reference",
            "place",
            "place_name",
            "assignee",
            "assignee_name",
            "due_date",
            "state",
            "revision",
            "saved_by",
            "saved_at",
            "planned_by",
            "approved_by",
            "approved_revision",
            "is_approved_by_planner",
            "done_count",
            "steps",
            "preview",
        )
        read_only_fields = fields


class JobFilters(NounFilters):
    """How jobs are found."""

    state = KindFilter(choices=JobState.choices)
    place = IdFilter(help_text="For this very place.")
    inside = InsideFilter("place__path")
    assignee = TextFilter("assignee__username", lookup_expr="exact", help_text="A user's name.")
    name = TextFilter()
    reference = TextFilter(lookup_expr="iexact")
    open = YesNoFilter(method="by_open", help_text="Neither recorded nor dropped.")

    def by_open(self, rows: Any, _name: str, value: bool) -> Any:  # noqa: FBT001 (the framework's signature)
        """Limit to jobs with something left to do, or to the others."""
        still_open = Job.objects.open().values("pk")
        return rows.filter(pk__in=still_open) if value else rows.exclude(pk__in=still_open)


class JobViewSet(NounViewSet):
    """Jobs: drafted, approved, built, recorded or dropped. They are plans, so have no past."""

    queryset = Job.objects.select_related(
        "place", "assignee", "saved_by", "planned_by", "approved_by"
    )
    serializer_class = JobSerializer
    filters = JobFilters
    orderings = {"id": "pk", "due_date": "due_date", "state": "state"}
    has_past = has_history = False


@extend_schema_field(StepSerializer(many=True))
class Steps(serializers.Field[Any, Any, Any, Any]):
    """A list of steps; what stands in them is the verb's to check."""

    default_error_messages = {"invalid": "Not a list of objects."}

    def to_internal_value(self, data: Any) -> list[Any]:
        if not isinstance(data, list) or not all(isinstance(each, Mapping) for each in data):
            self.fail("invalid")
        return data


class DraftJob(VerbShape):
    """What `jobs.draft` takes."""

    example = {
        "name": "Connect flat 12",
        "place": 7,
        "steps": [{"verb": "bookings.book", "arguments": {"leg": 131, "line": 12}}],
        "due_date": "2026-03-09",
    }

    name = Text()
    place = Id(help_text="Where the work is.")
    steps = Steps(required=False)
    reference = Text(required=False, help_text="Such as the number of an order.")
    assignee = Id(required=False, allow_null=True, help_text="The user who does it.")
    due_date = serializers.DateField(required=False, allow_null=True)


class EditJob(DraftJob):
    """What `jobs.edit` takes: all of the job anew."""

    example = {**DraftJob.example, "job": 4, "revision": 1}

    job = Id()
    revision = Whole(help_text="The one that was shown.")
    steps = Steps()


class _OfJob(VerbShape):
    """What all verbs about one job take."""

    example = {"job": 4}

    job = Id()


class ApproveJob(_OfJob):
    """What `jobs.approve` takes."""

    example = {"job": 4, "revision": 1}

    revision = Whole(help_text="The one that was previewed.")


class MarkJobBuilt(_OfJob):
    """What `jobs.mark_built` takes."""


class UnmarkJobBuilt(_OfJob):
    """What `jobs.unmark_built` takes."""


class DropJob(_OfJob):
    """What `jobs.drop` takes."""

    example = {"job": 4, "why": "order withdrawn"}

    why = Text(help_text="Why it is not done.")
