"""Hazard statements: what assessors stated of the light that can be met at places."""

from rest_framework import serializers

from api.filters import GivenFilter, IdFilter, InsideFilter, NounFilters
from api.nouns import NounViewSet
from api.shapes import Id, Text, VerbShape
from records.models import HazardLevel, HazardStatement


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
    standing = GivenFilter("withdrawn", exclude=True, help_text="Not withdrawn.")


class HazardStatementViewSet(NounViewSet):
    """What assessors stated of the light that can be met at places."""

    queryset = HazardStatement.objects.all()
    serializer_class = HazardStatementSerializer
    filters = HazardStatementFilters
    orderings = {"id": "pk", "stated_date": "stated_date"}


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
