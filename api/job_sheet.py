"""A job drafted from a sheet of steps."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.faults import WrongValue, WrongValuesError, wrong_in
from api.idempotency import IDEMPOTENCY_KEY, Claim, claimed, key_of
from api.jobs import JobSerializer
from api.shapes import Id, Shape, Text, checked, checked_query
from api.signed_in import signed_in
from records import changes
from records.changes import jobs
from records.intake import UnreadableError, job_file


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
        actor, now = signed_in(request), timezone.now()
        try:
            data = asked.pop("sheet").encode()
            sheet = job_file.read(data, rows_max=job_file.WAITED_FOR_MAX)
        except UnreadableError as unreadable:
            wrong = WrongValue("sheet", None, unreadable.message, unreadable.hint)
            raise WrongValuesError([wrong]) from unreadable
        drafted = job_file.drafted(sheet, place=asked["place"], actor=actor, at=now)
        if drafted.faults:
            raise WrongValuesError([wrong_in("sheet", fault) for fault in drafted.faults])
        with changes.opened(actor=actor, at=now) as change:
            job = jobs.draft(change, steps=drafted.steps, **asked)
            told = {"job": job, "remarks": [str(remark) for remark in drafted.remarks]}
            answer = dict(DraftedJobSerializer(told).data)
            claim.keep(answer)
        return answer
