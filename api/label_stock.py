"""What labels are printed on: the stock there is, the owner's own, printers' offsets."""

import json
from dataclasses import asdict
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.fields import empty
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.filters import KindFilter, NounFilters, TextFilter
from api.idempotency import IDEMPOTENCY_KEY, Claim, claimed, key_of
from api.nouns import NounViewSet
from api.shapes import Id, Number, Shape, Text, VerbShape, checked, checked_query
from labels import shelf
from labels.shelf import stock
from labels.stock import StockError
from records import changes
from records.models import OwnStock, PrinterOffset, StockShape


@extend_schema_field(OpenApiTypes.OBJECT)
class WrittenObject(serializers.Field[Any, Any, Any, Any]):
    """An object that the record keeps as text."""

    def __init__(self, **options: Any) -> None:
        """Read it, never write it."""
        super().__init__(read_only=True, **options)

    def to_representation(self, value: str) -> Any:
        return json.loads(value)


class StockId(Text):
    """The id of stock that there is."""

    default_error_messages: ClassVar[dict[str, Any]] = {"unknown": "There is no such stock."}

    def run_validation(self, data: Any = empty) -> str:
        """Look for it once it is known to be a text that a table can hold."""
        named: str = super().run_validation(data)
        try:
            stock(named)
        except StockError:
            self.fail("unknown")
        return named


class OwnStockSerializer(serializers.ModelSerializer[OwnStock]):
    """Stock that the owner described, in millimetres."""

    measures = WrittenObject(source="geometry")

    class Meta:
        model = OwnStock
        fields = ("id", "name", "shape", "measures")
        read_only_fields = fields


class OwnStockFilters(NounFilters):
    """How own stock is found."""

    name = TextFilter()
    shape = KindFilter(choices=StockShape.choices)


class OwnStockViewSet(NounViewSet):
    """Stock of the owner's own; the usual stock besides is under label-stock/."""

    queryset = OwnStock.objects.all()
    serializer_class = OwnStockSerializer
    filters = OwnStockFilters
    orderings = {"id": "pk", "name": "name"}


class PrinterOffsetSerializer(serializers.ModelSerializer[PrinterOffset]):
    """How far one printer is moved on one kind of sheet."""

    class Meta:
        model = PrinterOffset
        fields = ("id", "printer", "stock", "right_mm", "down_mm")
        read_only_fields = fields


class PrinterOffsetFilters(NounFilters):
    """How offsets are found."""

    printer = TextFilter()
    stock = TextFilter(lookup_expr="exact", help_text="The id of a sheet.")


class PrinterOffsetViewSet(NounViewSet):
    """How far printers are moved on sheets."""

    queryset = PrinterOffset.objects.all()
    serializer_class = PrinterOffsetSerializer
    filters = PrinterOffsetFilters
    orderings = {"id": "pk", "printer": "printer"}


class DescribeStock(VerbShape):
    """Stock of one's own, described in millimetres."""

    example: ClassVar = {
        "name": "two wide",
        "shape": "tape",
        "measures": {"media_mm": 18, "label_width_mm": 60, "label_height_mm": 15, "dpi": 300},
    }

    name = Text(help_text="As written on the packet.")
    shape = serializers.ChoiceField(StockShape.choices)
    measures = serializers.DictField(
        child=Number(),
        help_text=(
            "Of a sheet: page, margin, pitch and label by their names, columns and rows; of a "
            "roll: media_mm, label_width_mm, label_height_mm, dpi."
        ),
    )


class LabelStockView(APIView):
    """The stock there is to print on."""

    @extend_schema(responses=OpenApiTypes.OBJECT, tags=["label-stock"])
    def get(self, request: Request) -> Response:
        """Return all stock by its id, in millimetres: the usual kinds, then the owner's own."""
        checked_query(Shape, request.query_params)
        return Response({name: asdict(each) for name, each in shelf.stocks().items()})

    @extend_schema(
        parameters=[IDEMPOTENCY_KEY],
        request=DescribeStock,
        responses={201: OwnStockSerializer},
        tags=["label-stock"],
        examples=[OpenApiExample("As a crew sends it", DescribeStock.example, request_only=True)],
    )
    def post(self, request: Request) -> Response:
        """Describe stock; what runs off its page or can't be printed is refused."""
        checked_query(Shape, request.query_params)
        key = key_of(request)
        asked = checked(DescribeStock, request.data)
        with claimed(request, key, timezone.now()) as claim:
            answer = claim.answer or self._described(request, asked, claim)
        return Response(answer, status=201)

    def _described(self, request: Request, asked: dict[str, Any], claim: Claim) -> dict[str, Any]:
        reason = asked.get("reason", "")
        actor: Any = request.user
        with changes.opened(actor=actor, reason=reason, at=timezone.now()) as change:
            stock = shelf.describe(change, asked["name"], asked["shape"], asked["measures"])
            answer = dict(OwnStockSerializer(stock).data)
            claim.keep(answer)
        return answer


class ForgetStock(VerbShape):
    """What `label_rules.forget_stock` takes."""

    example = {"stock": 2}

    stock = Id(help_text="Stock of the owner's own.")


class NudgePrinter(VerbShape):
    """What `label_rules.nudge` takes."""

    example = {"printer": "office", "stock": "A4-5x13", "right_mm": 0.5, "down_mm": -1}

    printer = Text(help_text="A name that the crew knows it by.")
    stock = StockId(help_text="The id of a sheet, of those under label-stock/.")
    right_mm = Number(help_text="To the left: below 0.")
    down_mm = Number(help_text="Up: below 0.")
