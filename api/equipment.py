"""Equipment: what stands in a place and has ports."""

from collections.abc import Sequence
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter
from api.nouns import Aside, Beside, NounViewSet, WordsAside
from api.shapes import Id, Text, VerbShape, Whole
from records.models import Equipment, EquipmentKind, Polish
from records.queries.legs import LegCounts, leg_counts
from records.queries.names import addresses


class LegCountsSerializer(serializers.Serializer[LegCounts]):
    """How many splitter legs are in each condition."""

    spare = serializers.IntegerField()
    held = serializers.IntegerField()
    live = serializers.IntegerField()
    onward = serializers.IntegerField(help_text="Feed another splitter.")
    barred = serializers.IntegerField(help_text="Faulty or withheld.")
    total = serializers.IntegerField()


@extend_schema_field(LegCountsSerializer(allow_null=True))
class LegCountsAside(Aside):
    """The leg counts of a splitter; null for other equipment."""

    def to_representation(self, value: Equipment) -> Any:
        counts = super().to_representation(value)
        return LegCountsSerializer(counts).data if counts else None


class EquipmentSerializer(serializers.ModelSerializer[Equipment]):
    """An equipment and where it stands. `leg_counts` is null but for splitters."""

    address = WordsAside("addresses", "place_id")
    entry_name = serializers.CharField(source="entry.name", allow_null=True, read_only=True)
    leg_counts = LegCountsAside("leg_counts", "pk")

    class Meta:
        model = Equipment
        fields = (
            "id",
            "kind",
            "name",
            "serial",
            "place",
            "address",
            "entry",
            "entry_name",
            "optical_class",
            "leg_counts",
        )
        read_only_fields = fields


class EquipmentFilters(NounFilters):
    """How equipment is found."""

    kind = KindFilter(choices=EquipmentKind.choices)
    place = IdFilter(help_text="Standing in this very place.")
    inside = InsideFilter("place__path")
    name = TextFilter()
    serial = TextFilter()
    entry = IdFilter(help_text="Of this catalogue entry.")


class EquipmentViewSet(NounViewSet):
    """Equipment: OLTs, splitters, panels, closures, outlets, couplers, home terminals."""

    queryset = Equipment.objects.select_related("place", "entry")
    serializer_class = EquipmentSerializer
    filters = EquipmentFilters
    orderings = {"id": "pk", "name": "name", "kind": "kind", "place": "place__path"}

    def beside(self, rows: Sequence[Equipment]) -> Beside:
        splitters = [each.pk for each in rows if each.kind == EquipmentKind.SPLITTER]
        return {
            "addresses": addresses({each.place for each in rows}),
            "leg_counts": leg_counts(splitters),
        }


_POLISHES = [("", "bare"), *Polish.choices]


class InstallEquipment(VerbShape):
    """What `equipment.install` takes."""

    example = {"kind": "splitter", "place": 7, "name": "S1", "entry": 5, "polish": "APC"}

    kind = serializers.ChoiceField(EquipmentKind.choices)
    place = Id(help_text="Where it stands.")
    name = Text()
    serial = Text(required=False)
    entry = Id(
        required=False,
        allow_null=True,
        help_text="Its catalogue entry; a splitter, coupler or attenuator needs one.",
    )
    ports = Whole(required=False, help_text="PON ports of an OLT, adapters of a panel or outlet.")
    polish = serializers.ChoiceField(
        _POLISHES, required=False, help_text="Of the ports; empty for bare tails."
    )
    back_polish = serializers.ChoiceField(
        _POLISHES, required=False, allow_null=True, help_text="Of the backs of adapters."
    )
    optical_class = Id(required=False, allow_null=True, help_text="What a home terminal receives.")


class MoveEquipment(VerbShape):
    """What `equipment.move` takes."""

    example = {"equipment": 9, "place": 8, "reason": "cupboard replaced"}

    equipment = Id()
    place = Id(help_text="Where it goes.")


class RenameEquipment(VerbShape):
    """What `equipment.rename` takes."""

    example = {"equipment": 9, "name": "S1", "serial": "SN-0042"}

    equipment = Id()
    name = Text()
    serial = Text(required=False, allow_null=True, help_text="Left as it is if not given.")


class RemoveEquipment(VerbShape):
    """What `equipment.remove` takes."""

    example = {"equipment": 9, "reason": "taken down"}

    equipment = Id()


class SwapEquipment(VerbShape):
    """What `swaps.swap` takes: what is not given is as on the old one, but for the serial."""

    example = {"equipment": 9, "serial": "SN-0077", "entry": 6, "reason": "more legs needed"}

    equipment = Id(help_text="The old one.")
    name = Text(required=False)
    serial = Text(required=False)
    entry = Id(required=False, allow_null=True, help_text="The catalogue entry of the new one.")
    ports = Whole(required=False, allow_null=True)
    polish = serializers.ChoiceField(_POLISHES, required=False, allow_null=True)
    optical_class = Id(required=False, allow_null=True, help_text="What a home terminal receives.")
