"""A meter's file of readings: shown with its verdicts, or recorded, all or nothing."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.directory import address
from api.faults import WrongValue, WrongValuesError, wrong_in
from api.idempotency import IDEMPOTENCY_KEY, Claim, claimed, key_of
from api.quantities import FromThousandths
from api.readings import VerdictOnReadingSerializer
from api.shapes import Shape, Text, checked, checked_query
from api.verbs import PreviewShape
from records.intake import FaultsError, UnreadableError, meter_file


class MeterFileShape(Shape):
    """A file of readings."""

    csv = Text(
        help_text="The file's text: a row of column names with 'Where', 'Wavelength' and 'Level' "
        "among them, then one row a reading."
    )
    has_decimal_commas = serializers.BooleanField(
        required=False, help_text="Whether it writes decimals with a comma; they are refused else."
    )
    reason = Text(required=False, help_text="Kept with the change.")


class MeterRowSerializer(serializers.Serializer[meter_file.MeterRow]):
    """One row as it is understood. `is_there_already`: it was recorded before, and is left out."""

    row = serializers.IntegerField(source="number")
    point = serializers.IntegerField(source="reading.point_id")
    point_name = serializers.CharField()
    wavelength_nm = serializers.IntegerField(source="reading.wavelength_nm")
    direction = serializers.CharField(source="reading.direction")
    level_dbm = FromThousandths("reading.level_mdbm", allow_null=True)
    uncertainty_db = FromThousandths("reading.uncertainty_mdb")
    meter = serializers.CharField(source="reading.meter")
    taken_at = serializers.DateTimeField(source="reading.taken_at")
    taken_by = serializers.CharField(source="reading.taken_by.username")
    note = serializers.CharField(source="reading.note")
    is_there_already = serializers.BooleanField()
    verdict = VerdictOnReadingSerializer(source="judged")


class TakenInSerializer(serializers.Serializer[Any]):
    """What was recorded. `number` and `url`, of the change, are null for a preview."""

    number = serializers.IntegerField(allow_null=True)
    url = serializers.CharField(allow_null=True)
    rows = MeterRowSerializer(many=True)
    remarks = serializers.ListField(child=serializers.CharField())


class MeterFileView(APIView):
    """Readings from a meter's file."""

    @extend_schema(
        operation_id="readings_file",
        parameters=[PreviewShape, IDEMPOTENCY_KEY],
        request=MeterFileShape,
        responses={
            201: TakenInSerializer,
            200: OpenApiResponse(TakenInSerializer, "A preview, or all was there already."),
        },
        tags=["verbs: readings"],
    )
    def post(self, request: Request) -> Response:
        """Record the readings of a CSV file as one change; with all of them or not at all.

        Where a meter was put is a tag's code, a port by name such as `leg 3 of S1`, or a flat's
        address. Each fault is listed with its row and column. Rows recorded before are left out.
        """
        is_preview = checked_query(PreviewShape, request.query_params).get("preview") == "true"
        key = key_of(request)
        asked = checked(MeterFileShape, request.data)
        if is_preview:
            return Response(_told(_plan(request, asked)))
        with claimed(request, key, timezone.now()) as claim:
            answer = claim.answer or self._recorded(request, asked, claim)
        if answer["url"] is None:
            return Response(answer)
        return Response(answer, status=201, headers={"Location": answer["url"]})

    def _recorded(self, request: Request, asked: dict[str, Any], claim: Claim) -> dict[str, Any]:
        plan = _plan(request, asked)
        actor: Any = request.user
        try:
            taken = meter_file.commit(
                plan,
                actor=actor,
                at=timezone.now(),
                reason=asked.get("reason", ""),
                also=lambda taken: claim.keep(_told_taken(taken)),
            )
        except FaultsError as error:
            raise WrongValuesError([wrong_in("csv", fault) for fault in error.faults]) from error
        answer = _told_taken(taken)
        if taken.change is None:
            claim.keep(answer)
        return answer


def _plan(request: Request, asked: dict[str, Any]) -> meter_file.MeterPlan:
    """Return what the file would record. Raises: WrongValuesError."""
    actor: Any = request.user  # signed in, or no endpoint would have been reached
    try:
        sheet = meter_file.read(asked["csv"].encode())
        meter_file.refuse_long(sheet)
    except UnreadableError as unreadable:
        wrong = WrongValue("csv", None, unreadable.message, unreadable.hint)
        raise WrongValuesError([wrong]) from unreadable
    plan = meter_file.check(
        sheet,
        actor=actor,
        at=timezone.now(),
        has_decimal_commas=asked.get("has_decimal_commas", False),
    )
    if plan.faults:
        raise WrongValuesError([wrong_in("csv", fault) for fault in plan.faults])
    return plan


def _told_taken(taken: meter_file.TakenIn) -> dict[str, Any]:
    return _told(taken.plan, taken.change.number if taken.change else None)


def _told(plan: meter_file.MeterPlan, number: int | None = None) -> dict[str, Any]:
    url = None if number is None else address("changes", number)
    told = {"number": number, "url": url, "rows": plan.rows, "remarks": map(str, plan.remarks)}
    return dict(TakenInSerializer(told).data)
