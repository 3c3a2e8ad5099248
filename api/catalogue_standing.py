"""How the catalogue is kept: own entries, new versions that take over, confirmed figures."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.filters import IdFilter, NounFilters
from api.nouns import Aside, Beside, NounViewSet
from api.shapes import Id, Number, Shape, Text, VerbShape, Whole
from records.changes.figures import GivenFigure
from records.models import CONFIRMABLE, Bound, Confidence, Confirmation, EntryKind, TakeOver
from records.queries.take_overs import left_to_move


class ConfirmationSerializer(serializers.ModelSerializer[Confirmation]):
    """A person's word that one row says what an edition says: `figure` or one of the others."""

    class Meta:
        model = Confirmation
        fields = (
            "id",
            "figure",
            "class_direction",
            "scheme_colour",
            "edition",
            "table",
            "url",
            "note",
            "change",
        )
        read_only_fields = fields


class ConfirmationFilters(NounFilters):
    """How confirmations are found."""

    figure = IdFilter()
    class_direction = IdFilter()
    scheme_colour = IdFilter()
    entry = IdFilter("figure__entry", help_text="Of the figures of this catalogue entry.")


class ConfirmationViewSet(NounViewSet):
    """Confirmations: what people found in the documents themselves."""

    queryset: QuerySet[Confirmation] = Confirmation.objects.all()
    serializer_class = ConfirmationSerializer
    filters = ConfirmationFilters
    has_history = False


@extend_schema_field({"type": "integer"})
class CountAside(Aside):
    """A count said beside a row."""


class TakeOverSerializer(serializers.ModelSerializer[TakeOver]):
    """A new version of a catalogue entry taking over from an old one.

    `uses` is how many things used the old one when it began, `left` how many still do.
    """

    left = CountAside("left", "old_id")

    class Meta:
        model = TakeOver
        fields = ("id", "old", "new", "uses", "left", "change")
        read_only_fields = fields


class TakeOverFilters(NounFilters):
    """How take-overs are found."""

    old = IdFilter(help_text="From this catalogue entry.")
    new = IdFilter(help_text="By this catalogue entry.")


class TakeOverViewSet(NounViewSet):
    """Take-overs, with how far each has come."""

    queryset: QuerySet[TakeOver] = TakeOver.objects.all()
    serializer_class = TakeOverSerializer
    filters = TakeOverFilters
    has_history = False

    def beside(self, rows: Any) -> Beside:
        left = left_to_move(row.old_id for row in rows)
        return {"left": {row.old_id: left[row.old_id] for row in rows}}


class FigureShape(Shape):
    """One bound of a loss over a band of wavelengths, with its source."""

    bound = serializers.ChoiceField(Bound.choices)
    wavelength_min_nm = Whole(help_text="The band, both ends included.")
    wavelength_max_nm = Whole()
    value_db = Number(help_text="dB; of a fibre dB a kilometre.")
    source = Text(  # type: ignore[assignment] # fields are taken off the class
        help_text="Document, edition and table; or where else it comes from."
    )
    url = Text(required=False)
    confidence = serializers.ChoiceField(
        Confidence.choices, required=False, help_text="How far the source was looked up."
    )
    note = Text(required=False)
    branch = Whole(
        required=False, allow_null=True, help_text="From 1, where outputs or inputs differ."
    )

    def to_internal_value(self, data: Any) -> Any:
        return GivenFigure(**super().to_internal_value(data))


_FIGURES = [
    {
        "bound": bound,
        "wavelength_min_nm": 1260,
        "wavelength_max_nm": 1650,
        "value_db": value_db,
        "source": "test sheets of twelve units, March 2026",
    }
    for bound, value_db in (("least", 0.0), ("typical", 0.04), ("most", 0.1))
]


class AddEntry(VerbShape):
    """What `catalogue.add` takes."""

    example = {"kind": "fusion", "name": "our splice", "figures": _FIGURES}

    kind = serializers.ChoiceField(EntryKind.choices)
    name = Text()
    figures = serializers.ListField(child=FigureShape())
    inputs = Whole(required=False)
    outputs = Whole(required=False)
    note = Text(required=False)


class SupersedeEntry(VerbShape):
    """What `catalogue.supersede` takes."""

    example = {"entry": 31, "figures": _FIGURES, "reason": "new test sheets"}

    entry = Id(help_text="The newest version of a catalogue entry.")
    figures = serializers.ListField(child=FigureShape())
    note = Text(required=False)


class TakeOverSome(VerbShape):
    """What `catalogue.take_over` takes: repeat it until `left` of the take-over is 0."""

    example = {"take_over": 1, "trees": 10}

    take_over = Id(help_text="A take-over, as `catalogue.supersede` begins it.")
    trees = Whole(required=False, help_text="How many trees to recompute at once.")


class ConfirmRow(VerbShape):
    """What `catalogue.confirm` takes."""

    example = {
        "noun": "figure",
        "row": 12,
        "edition": "ITU-T G.652 (11/2016)",
        "table": "Table 2",
    }

    noun = serializers.ChoiceField(CONFIRMABLE, help_text="What kind of row.")
    row = Id(help_text="The row that says the same as the document.")
    edition = Text(help_text="Document and date.")
    table = Text(help_text="Table or clause in it.")
    url = Text(required=False)
    note = Text(required=False)


class UnconfirmRow(VerbShape):
    """What `catalogue.unconfirm` takes."""

    example = {"confirmation": 4, "reason": "it was another edition"}

    confirmation = Id()
