"""The catalogue: optical classes, losses and colours, each figure with its source and mark."""

from django.db.models import Prefetch, QuerySet
from rest_framework import serializers

from api.filters import KindFilter, NounFilters, TextFilter
from api.nouns import NounViewSet
from records.models import (
    CatalogueEntry,
    ClassDirection,
    ColourScheme,
    Confirmation,
    EntryKind,
    Figure,
    OpticalClass,
    SchemeColour,
)
from records.models.catalogue import Sourced
from records.queries.standards import is_unconfirmed

_SOURCED = ("source", "url", "confidence", "note", "confirmations", "is_unconfirmed")


def _with_confirmations() -> "Prefetch[str, QuerySet[Confirmation], str]":
    return Prefetch("confirmations", Confirmation.objects.order_by("pk"))


class WordSerializer(serializers.ModelSerializer[Confirmation]):
    """A person's word that a row says what an edition says, in which table."""

    class Meta:
        model = Confirmation
        fields = ("id", "edition", "table", "url", "note", "change")
        read_only_fields = fields


class SourcedSerializer(serializers.Serializer[Sourced]):
    """A row with who confirmed it; `is_unconfirmed`: it stands on memory alone."""

    confirmations = WordSerializer(many=True, read_only=True)
    is_unconfirmed = serializers.SerializerMethodField()

    def get_is_unconfirmed(self, row: Sourced) -> bool:
        """Tell whether it stands on memory alone."""
        return is_unconfirmed(row)


class ClassDirectionSerializer(SourcedSerializer, serializers.ModelSerializer[ClassDirection]):
    """What a class states for one direction, and where that stands."""

    class Meta:
        model = ClassDirection
        exclude = ("optical_class",)
        read_only_fields = tuple(field.name for field in ClassDirection._meta.concrete_fields)


class OpticalClassSerializer(serializers.ModelSerializer[OpticalClass]):
    """One technology and loss class, such as GPON B+."""

    directions = ClassDirectionSerializer(many=True, read_only=True)

    class Meta:
        model = OpticalClass
        fields = (
            "id",
            "system",
            "name",
            "reach_m",
            "differential_reach_m",
            "split_max",
            "directions",
        )
        read_only_fields = fields


class OpticalClassFilters(NounFilters):
    """How optical classes are found."""

    system = TextFilter(lookup_expr="iexact", help_text="Such as GPON.")
    name = TextFilter(lookup_expr="iexact", help_text="Such as B+; write the sign as %2B.")


class OpticalClassViewSet(NounViewSet):
    """Optical classes, with their figures by direction."""

    queryset = OpticalClass.objects.prefetch_related(
        Prefetch(
            "directions",
            ClassDirection.objects.order_by("direction").prefetch_related(_with_confirmations()),
        )
    )
    serializer_class = OpticalClassSerializer
    filters = OpticalClassFilters
    has_past = has_history = False
    orderings = {"id": "pk", "system": "system", "name": "name"}


class FigureSerializer(SourcedSerializer, serializers.ModelSerializer[Figure]):
    """One bound of a loss over a band of wavelengths, and where it stands.

    Either `loss_db` or, for fibre, `attenuation_db_per_km` is set. `branch` is null unless the
    outputs of the entry differ.
    """

    loss_db = serializers.SerializerMethodField()
    attenuation_db_per_km = serializers.SerializerMethodField()

    class Meta:
        model = Figure
        fields = (
            "id",
            "branch",
            "bound",
            "wavelength_min_nm",
            "wavelength_max_nm",
            "loss_db",
            "attenuation_db_per_km",
            *_SOURCED,
        )
        read_only_fields = fields

    def get_loss_db(self, figure: Figure) -> float | None:
        """Return the loss of anything but fibre."""
        return None if self._is_fibre(figure) else figure.value_mdb / 1000

    def get_attenuation_db_per_km(self, figure: Figure) -> float | None:
        """Return what a kilometre of fibre loses."""
        return figure.value_mdb / 1000 if self._is_fibre(figure) else None

    @staticmethod
    def _is_fibre(figure: Figure) -> bool:
        return figure.entry.kind == EntryKind.FIBRE


class CatalogueEntrySerializer(serializers.ModelSerializer[CatalogueEntry]):
    """A type of splitter, fibre, joint, attenuator or coupler, with each of its figures."""

    figures = FigureSerializer(many=True, read_only=True)

    class Meta:
        model = CatalogueEntry
        fields = ("id", "kind", "name", "version", "inputs", "outputs", "note", "figures")
        read_only_fields = fields


class CatalogueEntryFilters(NounFilters):
    """How catalogue entries are found."""

    kind = KindFilter(choices=EntryKind.choices)
    name = TextFilter(lookup_expr="iexact", help_text="Such as 1:32.")


class CatalogueEntryViewSet(NounViewSet):
    """Catalogue entries, with their figures and the source of each."""

    queryset = CatalogueEntry.objects.prefetch_related(
        Prefetch(
            "figures",
            Figure.objects.select_related("entry")
            .order_by("pk")
            .prefetch_related(_with_confirmations()),
        )
    )
    serializer_class = CatalogueEntrySerializer
    filters = CatalogueEntryFilters
    has_past = has_history = False
    orderings = {"id": "pk", "kind": "kind", "name": "name"}


class SchemeColourSerializer(SourcedSerializer, serializers.ModelSerializer[SchemeColour]):
    """The colour of one position, and where it stands."""

    class Meta:
        model = SchemeColour
        fields = ("id", "element", "position", "colour", "mark", *_SOURCED)
        read_only_fields = fields


class ColourSchemeSerializer(serializers.ModelSerializer[ColourScheme]):
    """An order of colours for the fibres and tubes of a cable."""

    colours = SchemeColourSerializer(many=True, read_only=True)

    class Meta:
        model = ColourScheme
        fields = ("id", "name", "standard", "group_size", "note", "colours")
        read_only_fields = fields


class ColourSchemeFilters(NounFilters):
    """How colour schemes are found."""

    name = TextFilter()


class ColourSchemeViewSet(NounViewSet):
    """Colour schemes, with the colour of each position."""

    queryset = ColourScheme.objects.prefetch_related(
        Prefetch(
            "colours",
            SchemeColour.objects.order_by("element", "position").prefetch_related(
                _with_confirmations()
            ),
        )
    )
    serializer_class = ColourSchemeSerializer
    filters = ColourSchemeFilters
    has_past = has_history = False
    orderings = {"id": "pk", "name": "name"}
