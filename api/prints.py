"""Print runs and the labels they printed."""

from rest_framework import serializers

from api.filters import GivenFilter, IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter
from api.label_stock import WrittenObject
from api.nouns import NounViewSet
from api.shapes import Id, Text, VerbShape
from labels.design import KINDS
from records.models import PrintedLabel, PrintFile, PrintRun
from records.models.tag_code import grouped


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
    spoiled = GivenFilter(help_text="Whether it never got to the wall.")


class PrintedLabelViewSet(NounViewSet):
    """Labels that were printed, each with the text it showed."""

    queryset = PrintedLabel.objects.select_related("tag")
    serializer_class = PrintedLabelSerializer
    filters = PrintedLabelFilters
    orderings = {"id": "pk", "position": "position"}


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
