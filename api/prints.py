"""Print runs and the labels they printed, hazard statements, own stock, printers' offsets."""

import json
from typing import Any, ClassVar

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.fields import empty

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter, YesNoFilter
from api.nouns import NounViewSet
from api.shapes import Id, Number, Text, VerbShape
from labels.design import KINDS
from labels.shelf import stock
from labels.stock import StockError
from records.models import (
    HazardLevel,
    HazardStatement,
    OwnStock,
    PrintedLabel,
    PrinterOffset,
    PrintFile,
    PrintRun,
    StockShape,
)
from records.models.tag_code import grouped


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


class PrintRunSerializer(serializers.ModelSerializer[PrintRun]):
    """Labels printed in one go: who, when, of what, on what. Its file is at `file`."""

    number = serializers.IntegerField(source="change_id", read_only=True)
    by = serializers.CharField(source="change.actor.username", read_only=True)
    at = serializers.DateTimeField(source="change.at", read_only=True)
    stock = WrittenObject()
    rules = WrittenObject()

    class Meta:
        model = PrintRun
        fields = (
            "id",
            "number",
            "by",
            "at",
            "chosen",
            "label_count",
            "file",
            "start",
            "right_mm",
            "down_mm",
            "has_outlines",
            "stock",
            "rules",
            "digest",
        )
        read_only_fields = fields


class PrintRunFilters(NounFilters):
    """How print runs are found."""

    chosen = TextFilter(help_text="A part of what was chosen.")
    by = TextFilter("change__actor__username", lookup_expr="exact", help_text="A user's name.")
    file = KindFilter(choices=PrintFile.choices)


class PrintRunViewSet(NounViewSet):
    """Print runs, the text of whose labels is under printed-labels/."""

    queryset = PrintRun.objects.select_related("change__actor")
    serializer_class = PrintRunSerializer
    filters = PrintRunFilters
    orderings = {"id": "pk"}


class PrintedLabelSerializer(serializers.ModelSerializer[PrintedLabel]):
    """One label as it was printed. `noun` and `thing` are empty for a blank tag.

    `spoiled` says why it never got to the wall.
    """

    code = serializers.SerializerMethodField()
    fields_shown = serializers.DictField(
        source="fields", child=serializers.CharField(), read_only=True
    )

    class Meta:
        model = PrintedLabel
        fields = (
            "id",
            "run",
            "position",
            "kind",
            "code",
            "noun",
            "thing",
            "cable_end",
            "tray",
            "place",
            "fields_shown",
            "spoiled",
        )
        read_only_fields = fields

    def get_code(self, label: PrintedLabel) -> str:
        """Return the code as the label shows it; empty where it has none."""
        return grouped(label.tag.code) if label.tag else ""


class PrintedLabelFilters(NounFilters):
    """How printed labels are found."""

    run = IdFilter(help_text="Of this print run.")
    tag = IdFilter(help_text="With this tag's code.")
    kind = KindFilter(choices=[(name, kind.title) for name, kind in KINDS.items()])
    place = IdFilter(help_text="For this very place.")
    inside = InsideFilter("place__path")
    spoiled = YesNoFilter(method="by_spoiled", help_text="Whether it never got to the wall.")

    def by_spoiled(
        self,
        rows: QuerySet[PrintedLabel],
        _name: str,
        value: bool,  # noqa: FBT001 (the framework's signature)
    ) -> QuerySet[PrintedLabel]:
        """Limit to spoiled labels, or to the others."""
        return rows.exclude(spoiled="") if value else rows.filter(spoiled="")


class PrintedLabelViewSet(NounViewSet):
    """Labels that were printed, each with the text it showed."""

    queryset = PrintedLabel.objects.select_related("tag")
    serializer_class = PrintedLabelSerializer
    filters = PrintedLabelFilters
    orderings = {"id": "pk", "position": "position"}


class HazardStatementSerializer(serializers.ModelSerializer[HazardStatement]):
    """A hazard level as a named assessor stated it on a day. It is never computed."""

    class Meta:
        model = HazardStatement
        fields = ("id", "place", "hazard_level", "assessor", "stated_date", "note", "withdrawn")
        read_only_fields = fields

    hazard_level = serializers.CharField(source="level", read_only=True)


class HazardStatementFilters(NounFilters):
    """How hazard statements are found."""

    place = IdFilter(help_text="For this very place.")
    inside = InsideFilter("place__path")
    standing = YesNoFilter(method="by_standing", help_text="Not withdrawn.")

    def by_standing(
        self,
        rows: QuerySet[HazardStatement],
        _name: str,
        value: bool,  # noqa: FBT001 (the framework's signature)
    ) -> QuerySet[HazardStatement]:
        """Limit to statements not withdrawn, or to the others."""
        return rows.filter(withdrawn="") if value else rows.exclude(withdrawn="")


class HazardStatementViewSet(NounViewSet):
    """What assessors stated of the light that can be met at places."""

    queryset = HazardStatement.objects.all()
    serializer_class = HazardStatementSerializer
    filters = HazardStatementFilters
    orderings = {"id": "pk", "stated_date": "stated_date"}


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


class SpoilLabel(VerbShape):
    """What `prints.spoil` takes."""

    example = {"label": 31, "why": "torn while sticking"}

    label = Id(  # type: ignore[assignment] # fields are taken off the class
        help_text="A printed label."
    )
    why = Text(help_text="Why it never got to the wall.")


class VoidBlanks(VerbShape):
    """What `prints.void_blanks` takes."""

    example = {"run": 4, "why": "roll lost on site"}

    run = Id(help_text="A print run of blank tags.")
    why = Text(help_text="Why its blank tags are withdrawn.")


class StateHazard(VerbShape):
    """What `hazards.state` takes."""

    example = {
        "place": 7,
        "hazard_level": "1M",
        "assessor": "A. Assessor",
        "stated_date": "2026-02-01",
    }

    place = Id()
    hazard_level = serializers.ChoiceField(
        HazardLevel.choices, help_text="As the assessor stated it."
    )
    assessor = Text(help_text="Who stated it.")
    stated_date = serializers.DateField()
    note = Text(required=False)


class WithdrawHazard(VerbShape):
    """What `hazards.withdraw` takes."""

    example = {"statement": 3, "why": "overlay switched off"}

    statement = Id()
    why = Text(help_text="Why it no longer holds.")


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
