"""Jobs tried, and recorded whole or step by step."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.shapes import Shape, Text, Whole, checked, checked_query
from api.signed_in import signed_in
from records.changes import jobs


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
        return Response(jobs.preview(pk, actor=signed_in(request), at=timezone.now()).as_json())


class JobCommitView(APIView):
    """Record a job."""

    @extend_schema(request=CommitShape, responses={200: RecordedSerializer}, tags=["jobs"])
    def post(self, request: Request, pk: int) -> Response:
        """Record all that is left of an approved or built job in one change.

        It must come to just what the preview said. Repeating it is harmless.
        """
        checked_query(Shape, request.query_params)
        asked = checked(CommitShape, request.data)
        done = jobs.commit(pk, **asked, actor=signed_in(request), at=timezone.now())
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
        done = jobs.tick(pk, **asked, actor=signed_in(request), at=timezone.now())
        return Response(RecordedSerializer(done).data)
