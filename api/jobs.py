"""Jobs: steps planned, previewed, approved, done on site and recorded."""

from collections.abc import Mapping
from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.faults import WrongValue, WrongValuesError, wrong_in
from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter, YesNoFilter
from api.idempotency import IDEMPOTENCY_KEY, Claim, claimed, key_of
from api.nouns import NounViewSet
from api.shapes import Id, Shape, Text, VerbShape, Whole, checked, checked_query
from records import changes
from records.changes import jobs
from records.intake import UnreadableError, job_file
from records.models import Job, JobState


class StepSerializer(serializers.Serializer[Any]):
    """One planned deed: a verb by name, its arguments, and a note for whoever does it.

    An argument that names a thing is an id, or refers to what an earlier step makes, such as
    `{"step": 1}` or `{"step": 1, "port": "leg 3"}`. `planned_by` is who last edited the steps that
    were left then (the id of a user). A step that is done tells when, by whom (the id of a user),
    in which change, and what it made.
    """

    verb = serializers.CharField()
    arguments = serializers.DictField()
    note = serializers.CharField(required=False)
    planned_by = serializers.IntegerField(required=False, read_only=True)
    done_at = serializers.DateTimeField(required=False, read_only=True)
    done_by = serializers.IntegerField(required=False, read_only=True)
    change = serializers.IntegerField(required=False, read_only=True)
    made = serializers.DictField(required=False, read_only=True)


class JobSerializer(serializers.ModelSerializer[Job]):
    """A named set of ordered steps for a place. `preview` is empty before the first one.

    `is_approved_by_planner`: an owner approved their own plan, and nobody took a second look.
    """

    place_name = serializers.CharField(source="place.name", read_only=True)
    done_count = serializers.IntegerField(read_only=True)
    saved_by = serializers.CharField(source="saved_by.username", read_only=True)
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

    queryset = Job.objects.select_related("place", "assignee", "saved_by", "approved_by")
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


class RecordedSerializer(serializers.Serializer[jobs.Recorded]):
    """The change that recorded steps of a job; `is_repeat` if it had done so before."""

    number = serializers.IntegerField()
    is_repeat = serializers.BooleanField()


class CommitShape(Shape):
    """What is recorded, and why."""

    revision = Whole(help_text="The one that was previewed.")
    reason = Text(required=False, help_text="Why the change is made; the job's name if not given.")


class TickShape(Shape):
    """Which step is recorded, and why."""

    step = Whole(help_text="Counted from 1; steps are recorded in their order.")
    reason = Text(required=False, help_text="Why the change is made; the job's name if not given.")


class JobPreviewView(APIView):
    """Try a job."""

    @extend_schema(request=None, responses={200: OpenApiTypes.OBJECT}, tags=["jobs"])
    def post(self, request: Request, pk: int) -> Response:
        """Run what is left of a job for real, leave nothing, and keep the report with the job.

        The report tells each step in words, the homes that go dark, get light or keep it at other
        levels, and the first step that clashes, if any.
        """
        checked_query(Shape, request.query_params)
        checked(Shape, request.data)
        return Response(jobs.preview(pk, actor=_actor(request), at=timezone.now()).as_json())


class JobCommitView(APIView):
    """Record a job."""

    @extend_schema(request=CommitShape, responses={200: RecordedSerializer}, tags=["jobs"])
    def post(self, request: Request, pk: int) -> Response:
        """Record all that is left of an approved or built job in one change.

        It must come to just what the preview said. Repeating it is harmless.
        """
        checked_query(Shape, request.query_params)
        asked = checked(CommitShape, request.data)
        done = jobs.commit(pk, **asked, actor=_actor(request), at=timezone.now())
        return Response(RecordedSerializer(done).data)


class JobTickView(APIView):
    """Record one step of a job."""

    @extend_schema(request=TickShape, responses={200: RecordedSerializer}, tags=["jobs"])
    def post(self, request: Request, pk: int) -> Response:
        """Record the next step of an approved or built job as its own change.

        Repeating it is harmless; the last step closes the job.
        """
        checked_query(Shape, request.query_params)
        asked = checked(TickShape, request.data)
        done = jobs.tick(pk, **asked, actor=_actor(request), at=timezone.now())
        return Response(RecordedSerializer(done).data)


class JobSheetShape(Shape):
    """A job whose steps stand in a sheet."""

    name = Text()
    place = Id(help_text="Where the work is.")
    sheet = Text(
        help_text="CSV: a row of column names with 'Verb' among them, then one row a step, "
        f"{job_file.WAITED_FOR_MAX} at most."
    )
    reference = Text(required=False, help_text="Such as the number of an order.")
    assignee = Id(required=False, allow_null=True, help_text="The user who does it.")
    due_date = serializers.DateField(required=False, allow_null=True)


class DraftedJobSerializer(serializers.Serializer[Any]):
    """The job that was drafted, and what to know of its rows."""

    job = JobSerializer()
    remarks = serializers.ListField(child=serializers.CharField())


class JobSheetView(APIView):
    """Draft a job from a sheet."""

    @extend_schema(
        parameters=[IDEMPOTENCY_KEY],
        request=JobSheetShape,
        responses={201: DraftedJobSerializer},
        tags=["jobs"],
    )
    def post(self, request: Request) -> Response:
        """Draft a job with one step a row, by plain names; with all of them or not at all.

        Things are named as on their pages: `leg 3 of S1`, `Block A, Flat 12`. What a row above
        makes has its name at once. Each fault is listed with its row and column.
        """
        checked_query(Shape, request.query_params)
        key = key_of(request)
        asked = checked(JobSheetShape, request.data)
        with claimed(request, key, timezone.now()) as claim:
            answer = claim.answer or self._drafted(request, asked, claim)
        return Response(answer, status=201)

    def _drafted(self, request: Request, asked: dict[str, Any], claim: Claim) -> dict[str, Any]:
        actor, now = _actor(request), timezone.now()
        try:
            data = asked.pop("sheet").encode()
            sheet = job_file.read(data, rows_max=job_file.WAITED_FOR_MAX)
        except UnreadableError as unreadable:
            wrong = WrongValue("sheet", None, unreadable.message, unreadable.hint)
            raise WrongValuesError([wrong]) from unreadable
        drafted = job_file.drafted(sheet, actor=actor, at=now)
        if drafted.faults:
            raise WrongValuesError([wrong_in("sheet", fault) for fault in drafted.faults])
        with changes.opened(actor=actor, at=now) as change:
            job = jobs.draft(change, steps=drafted.steps, **asked)
            told = {"job": job, "remarks": [str(remark) for remark in drafted.remarks]}
            answer = dict(DraftedJobSerializer(told).data)
            claim.keep(answer)
        return answer


def _actor(request: Request) -> Any:
    """Return who is signed in, or no endpoint would have been reached."""
    return request.user
