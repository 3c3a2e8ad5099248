"""A crew's sheet of flats: shown with what it would add, or taken in, all or nothing."""

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
from api.shapes import Number, Shape, Text, Whole, checked, checked_query
from api.signed_in import signed_in
from api.verbs import PreviewShape
from records import intake
from records.intake import Assumptions, Count, FaultsError, Plan, RowPlan, UnreadableError

ROWS_MAX = 600
"""Rows that are taken in while someone waits for the answer; more belong to the command."""

REHEARSED_MAX = 150
"""Rows that a preview tries out for real; of more it tells what can be seen without."""

_FIELDS = {str: Text, float: Number, int: Whole}


class FlatsSheetShape(Shape):
    """A sheet of flats, and what to assume where it is silent."""

    csv = Text(
        help_text="The sheet's text: a row of column names with 'Building', 'Flat', 'Splitter', "
        f"'Leg', 'Cable', 'Fibre' and 'Length' among them, then one row a flat, {ROWS_MAX} at "
        "most. An exported sheet of flats is one."
    )
    estate = Text(required=False, help_text="For rows that name none.")
    reason = Text(required=False, help_text="Kept with the change.")

    def get_fields(self) -> Any:
        """Return the fields, each assumption among them by its own name."""
        fields = super().get_fields()
        for each in intake.assumed():
            told = f"Assumed {each.label}: {each.means}; {str(each.value) or 'none'} if not given."
            fields[each.field] = _FIELDS[type(each.value)](required=False, help_text=told)
        return fields


class CountSerializer(serializers.Serializer[Count]):
    """How many things of a kind are new, and how many are in the record already."""

    kind = serializers.CharField()
    new = serializers.IntegerField()
    there = serializers.IntegerField()


class RowSerializer(serializers.Serializer[RowPlan]):
    """What a row adds, in words."""

    row = serializers.IntegerField(source="number")
    words = serializers.CharField()
    is_there_already = serializers.BooleanField()


class SheetTakenInSerializer(serializers.Serializer[Any]):
    """What was taken in. `number` and `url`, of the change, are null for a preview."""

    number = serializers.IntegerField(allow_null=True)
    url = serializers.CharField(allow_null=True)
    counts = CountSerializer(many=True)
    rows = RowSerializer(many=True)
    remarks = serializers.ListField(child=serializers.CharField())


class FlatsSheetView(APIView):
    """A crew's sheet of flats."""

    @extend_schema(
        operation_id="places_sheet",
        parameters=[PreviewShape, IDEMPOTENCY_KEY],
        request=FlatsSheetShape,
        responses={
            201: SheetTakenInSerializer,
            200: OpenApiResponse(SheetTakenInSerializer, "A preview, or all was there already."),
        },
        tags=["verbs: places"],
    )
    def post(self, request: Request) -> Response:
        """Take a sheet of flats in as one change: places, plant and bookings; all or nothing.

        Each fault is listed with its row and column. What the record has already is left as it
        is, so the same sheet sent again adds nothing.
        """
        is_preview = checked_query(PreviewShape, request.query_params).get("preview") == "true"
        key = key_of(request)
        asked = checked(FlatsSheetShape, request.data)
        if is_preview:
            return Response(_previewed(request, asked))
        with claimed(request, key, timezone.now()) as claim:
            answer = claim.answer or _taken_in(request, asked, claim)
        if answer["url"] is None:
            return Response(answer)
        return Response(answer, status=201, headers={"Location": answer["url"]})


def _previewed(request: Request, asked: dict[str, Any]) -> dict[str, Any]:
    plan = _plan(asked)
    if not plan.is_there_already and len(plan.rows) <= REHEARSED_MAX:
        _refuse(intake.rehearse(plan, actor=signed_in(request), at=timezone.now()))
    return _told(plan)


def _taken_in(request: Request, asked: dict[str, Any], claim: Claim) -> dict[str, Any]:
    plan = _plan(asked)
    if plan.is_there_already:
        answer = _told(plan)
        claim.keep(answer)
        return answer
    try:
        change = intake.commit(
            plan,
            actor=signed_in(request),
            at=timezone.now(),
            reason=asked.get("reason", ""),
            also=lambda change: claim.keep(_told(plan, change.number)),
        )
    except FaultsError as error:
        raise _wrong(error.faults) from error
    return _told(plan, change.number)


def _plan(asked: dict[str, Any]) -> Plan:
    """Return what the sheet would do. Raises: WrongValuesError."""
    try:
        sheet = _short_sheet(asked["csv"])
    except UnreadableError as unreadable:
        wrong = WrongValue("csv", None, unreadable.message, unreadable.hint)
        raise WrongValuesError([wrong]) from unreadable
    named = {each.field for each in intake.assumed()}
    assumptions = Assumptions(**{name: value for name, value in asked.items() if name in named})
    plan = intake.check(sheet, estate=asked.get("estate", ""), assumptions=assumptions)
    _refuse(plan.faults)
    return plan


def _short_sheet(text: str) -> intake.Sheet:
    """Return a sheet that someone can wait for. Raises: UnreadableError."""
    sheet = intake.read(text.encode())
    if len(sheet.rows) > ROWS_MAX:
        raise UnreadableError(
            f"This sheet has {len(sheet.rows):,} rows; at most {ROWS_MAX} are taken in here.",
            hint="Send a sheet for each building, or use the command manage.py intake.",
        )
    return sheet


def _refuse(faults: tuple[intake.Fault, ...]) -> None:
    if faults:
        raise _wrong(faults)


def _wrong(faults: tuple[intake.Fault, ...]) -> WrongValuesError:
    return WrongValuesError([wrong_in("csv", fault) for fault in faults])


def _told(plan: Plan, number: int | None = None) -> dict[str, Any]:
    told = {
        "number": number,
        "url": None if number is None else address("changes", number),
        "counts": plan.counts,
        "rows": plan.rows,
        "remarks": map(str, plan.remarks),
    }
    return dict(SheetTakenInSerializer(told).data)
