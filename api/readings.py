"""Readings: levels measured at points, each held against what the record expects."""

from collections.abc import Sequence
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter, TimeFilter
from api.nouns import Aside, Beside, NounViewSet
from api.quantities import Decibels, FromThousandths
from api.shapes import Id, Number, Text, VerbShape, Whole
from records.models import Direction, Reading
from records.queries.names import short_name
from records.queries.readings import Judged, judged_now, with_last_good


class LastGoodSerializer(serializers.ModelSerializer[Reading]):
    """An earlier reading that was as expected when it was recorded."""

    level_dbm = FromThousandths("level_mdbm")
    uncertainty_db = FromThousandths("uncertainty_mdb")
    taken_by = serializers.CharField(source="taken_by.username", read_only=True)

    class Meta:
        model = Reading
        fields = ("id", "level_dbm", "uncertainty_db", "meter", "taken_at", "taken_by", "change")
        read_only_fields = fields


class VerdictOnReadingSerializer(serializers.Serializer[Judged]):
    """What a reading says: as expected, low, high, no light, or unexpected where none should be.

    `difference_db` is positive for more light than the typical level expected, null where there
    is nothing to compare. `is_before_change`: after the reading, the change `altered_by` worked
    on the way of its light or took the light away. `reckoned_by` is a change after the reading
    that only reckoned the level expected from other figures, so the two still compare.
    `is_resting`: it saw no light on the feeder of a standby, which is as expected. `doubt` says
    in words why the record can't explain it. `last_good` is the last reading before it, of
    the same wavelength and direction, that was as expected; `since_good_db` is positive for more
    light than it saw.
    """

    outcome = serializers.CharField(source="verdict.outcome")
    difference_db = Decibels(source="verdict.difference_db", allow_null=True)
    channel = serializers.IntegerField(source="lit.channel_id", allow_null=True, default=None)
    is_before_change = serializers.BooleanField()
    altered_by = serializers.IntegerField(allow_null=True)
    reckoned_by = serializers.IntegerField(allow_null=True)
    is_resting = serializers.BooleanField()
    doubt = serializers.CharField()
    last_good = LastGoodSerializer(allow_null=True)
    since_good_db = Decibels(allow_null=True)


@extend_schema_field(VerdictOnReadingSerializer)
class VerdictAside(Aside):
    """The verdict on a reading."""

    def to_representation(self, value: Reading) -> Any:
        return VerdictOnReadingSerializer(super().to_representation(value)).data


class ReadingSerializer(serializers.ModelSerializer[Reading]):
    """A level measured at a point; `level_dbm` null means that the meter saw no light.

    The verdict is not kept but follows from the light that the record expects now, so there is
    no filter for it.
    """

    point_name = serializers.SerializerMethodField()
    level_dbm = FromThousandths("level_mdbm", allow_null=True)
    uncertainty_db = FromThousandths("uncertainty_mdb")
    taken_by = serializers.CharField(source="taken_by.username", read_only=True)
    verdict = VerdictAside("verdicts", "pk")

    class Meta:
        model = Reading
        fields = (
            "id",
            "point",
            "point_name",
            "wavelength_nm",
            "direction",
            "level_dbm",
            "uncertainty_db",
            "meter",
            "taken_at",
            "taken_by",
            "change",
            "note",
            "verdict",
        )
        read_only_fields = fields

    def get_point_name(self, reading: Reading) -> str:
        """Return what its point is called."""
        return short_name(reading.point)


class ReadingFilters(NounFilters):
    """How readings are found."""

    point = IdFilter()
    equipment = IdFilter("point__equipment", help_text="At a port of this.")
    inside = InsideFilter("point__equipment__place__path", help_text="At ports in it or inside.")
    direction = KindFilter(choices=Direction.choices)
    since = TimeFilter("taken_at", lookup_expr="gte", help_text="Taken at this time or later.")
    until = TimeFilter("taken_at", lookup_expr="lt", help_text="Taken before this time.")
    taken_by = TextFilter("taken_by__username", lookup_expr="exact", help_text="A user's name.")


class ReadingViewSet(NounViewSet):
    """Readings, newest last unless ordered otherwise."""

    queryset = Reading.objects.select_related(
        "point__equipment", "point__passage__cable", "taken_by"
    )
    serializer_class = ReadingSerializer
    filters = ReadingFilters
    orderings = {"id": "pk", "taken_at": "taken_at", "level_dbm": "level_mdbm"}

    def beside(self, rows: Sequence[Reading]) -> Beside:
        verdicts = with_last_good(judged_now(rows))
        return {"verdicts": {each.reading.pk: each for each in verdicts}}


class ReadLevel(VerbShape):
    """What `readings.read` takes."""

    example = {"point": 410, "wavelength_nm": 1490, "level_dbm": -19.4, "meter": "PM-7"}

    point = Id(help_text="Where the meter was put.")
    wavelength_nm = Whole()
    direction = serializers.ChoiceField(Direction.choices, required=False)
    level_dbm = Number(allow_null=True, help_text="Null: the meter saw no light.")
    uncertainty_db = Number(required=False, help_text="What the meter may be off, either way.")
    meter = Text(required=False, help_text="Which meter.")
    taken_at = serializers.DateTimeField(
        required=False, allow_null=True, help_text="Now if not given."
    )
    taken_by = Id(
        required=False, allow_null=True, help_text="The user who held the meter; you if not given."
    )
    note = Text(required=False)


class TakeBackReading(VerbShape):
    """What `readings.take_back` takes."""

    example = {"reading": 71, "reason": "taken at the wrong port"}

    reading = Id()
