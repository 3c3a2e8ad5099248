"""What is asked of a print, and what a first look answers."""

from typing import Any, ClassVar

from rest_framework import serializers

from api.label_stock import StockId
from api.shapes import Id, Number, Text, VerbShape, Whole
from labels.choices import CHOICES
from labels.item import OPTIONAL, WHAT
from labels.items import CABLE_LABELS
from labels.shelf import USUAL_SHEET
from records.changes.prints import LABELS_MAX
from records.models import PrintFile


class OrderShape(VerbShape):
    """On what labels are printed, and how."""

    stock = StockId(required=False, help_text=f"Of label-stock/; {USUAL_SHEET} if not given.")
    start = Whole(required=False, min_value=1, help_text="First label left on the first sheet.")
    printer = Text(required=False, help_text="Its stored offset is taken into account.")
    right_mm = Number(required=False, help_text="Besides what is stored for the printer.")
    down_mm = Number(required=False)
    file = serializers.ChoiceField(PrintFile.choices, required=False)
    has_outlines = serializers.BooleanField(required=False)
    page = Whole(required=False, min_value=1, help_text="Which page a preview shows.")


class PrintShape(OrderShape):
    """What labels are printed of: a thing, and which of its labels."""

    example: ClassVar = {"noun": "equipment", "thing": 12, "choose": "needed", "stock": "A4-4x10"}

    noun = serializers.ChoiceField(list(CHOICES))
    thing = Id(help_text="A place with all inside it, an equipment, a cable, a port, a job ...")
    choose = serializers.ChoiceField(
        ["needed", "all"], required=False, help_text="What is missing or gone wrong; or all."
    )
    sorts = serializers.ListField(
        child=serializers.ChoiceField(list(WHAT.items())), required=False, help_text="Only these."
    )
    keys = serializers.ListField(
        child=Text(), required=False, help_text="Only these, as a list of labels names them."
    )
    shown = serializers.ListField(
        child=serializers.ChoiceField(list(OPTIONAL.items())),
        required=False,
        help_text="What a label shows besides code and number.",
    )
    cable_label = serializers.ChoiceField(list(CABLE_LABELS.items()), required=False)


class BlankShape(OrderShape):
    """How many blank tags."""

    example: ClassVar = {"count": 40, "stock": "A4-4x10"}

    count = Whole(min_value=1, max_value=LABELS_MAX, help_text="How many blank tags.")


class LookSerializer(serializers.Serializer[Any]):
    """A first look: how many labels, how many get a new code, and one page as a picture (SVG).

    Codes that are not issued yet stand as 0000-0000. `notes` say what was left out, and why.
    """

    label_count = serializers.IntegerField()
    new_code_count = serializers.IntegerField()
    page = serializers.IntegerField()
    page_count = serializers.IntegerField()
    notes = serializers.ListField(child=serializers.CharField())
    picture = serializers.CharField()
