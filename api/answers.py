"""How the answers of `records.queries` are sent: one serializer a dataclass."""

from typing import Any

from rest_framework import serializers

from api.equipment import LegCountsSerializer
from api.light import LitSerializer
from api.quantities import Decibels, FromThousandths, Levels, Losses
from api.readings import VerdictOnReadingSerializer
from records.models import Equipment, Place, Point
from records.queries.below import Hanging
from records.queries.buildings import Building, Dwelling, Floor, LineOf, TerminalOf
from records.queries.dark import Way
from records.queries.find import Found
from records.queries.legs import Leg, LegCounts
from records.queries.names import short_name
from records.queries.paths import Hop, Path
from records.queries.readings import Judged


class FoundSerializer(serializers.Serializer[Found]):
    """A thing found: its noun and id, what it is called, and a second line about it."""

    noun = serializers.CharField()
    id = serializers.IntegerField()
    title = serializers.CharField()
    detail = serializers.CharField()


class HopSerializer(serializers.Serializer[Hop]):
    """A point on a path, with the step that led to it.

    `by` names what light came through, `by_kind` its kind: launch, joint, fibre, splitter,
    adapter or device. `loss_db` and `length_m` are of this step, `level_dbm` is at this point,
    `fibre_m` counts from the PON port. `is_measured`: the loss was measured, not reckoned.
    """

    point = serializers.IntegerField(source="spot.point_id")
    role = serializers.CharField(source="spot.role")
    number = serializers.IntegerField(source="spot.number")
    label = serializers.CharField(  # type: ignore[assignment] # fields are taken off the class
        source="spot.label"
    )
    owner = serializers.CharField(source="spot.owner")
    equipment = serializers.IntegerField(source="spot.equipment_id", allow_null=True)
    equipment_kind = serializers.CharField(source="spot.equipment_kind")
    cable = serializers.IntegerField(source="spot.cable_id", allow_null=True)
    cable_kind = serializers.CharField(source="spot.cable_kind")
    place = serializers.IntegerField(source="spot.place_id", allow_null=True)
    place_name = serializers.CharField(source="spot.place")
    by = serializers.CharField()
    by_kind = serializers.CharField()
    joint = serializers.IntegerField(source="joint_id", allow_null=True)
    entry = serializers.IntegerField(source="entry_id", allow_null=True)
    is_measured = serializers.BooleanField()
    length_m = serializers.FloatField()
    fibre_m = serializers.FloatField()
    loss_db = Losses(source="loss")
    level_dbm = Levels(source="level")


class PathSerializer(serializers.Serializer[Path]):
    """The way one channel comes to a point, OLT first, and the light it brings."""

    light = LitSerializer(source="lit")
    hops = HopSerializer(many=True)


class NamedPointSerializer(serializers.Serializer[Point]):
    """A point and what it is called."""

    id = serializers.IntegerField(source="pk")
    name = serializers.SerializerMethodField()

    def get_name(self, point: Point) -> str:
        """Return what it is called."""
        return short_name(point)


class WaySerializer(serializers.Serializer[Way]):
    """The way up from a dark point as far as it is joined, and the splitter leg on it."""

    points = NamedPointSerializer(many=True)
    leg = NamedPointSerializer(allow_null=True)


class PointPathsSerializer(serializers.Serializer[Any]):
    """Every path by which light comes to a point; the way up where it is dark."""

    point = NamedPointSerializer()
    paths = PathSerializer(many=True)
    dark_way = WaySerializer(allow_null=True)


class HangingSerializer(serializers.Serializer[Hanging]):
    """A home terminal that is lit through a thing, and the dwelling it stands in.

    `keeps_light`: another channel reaches it by another way, such as a standby.
    """

    point = serializers.IntegerField(source="point_id")
    equipment = serializers.IntegerField(source="equipment_id")
    terminal = serializers.CharField()
    serial = serializers.CharField()
    place = serializers.IntegerField(source="place_id")
    address = serializers.CharField()
    leg = serializers.IntegerField(source="leg_id", allow_null=True)
    keeps_light = serializers.BooleanField()


class LegSerializer(serializers.Serializer[Leg]):
    """A leg of a splitter, what it is promised for, what it is joined to and its light."""

    point = serializers.IntegerField(source="point_id")
    number = serializers.IntegerField()
    condition = serializers.CharField()
    barred_reason = serializers.CharField()
    measured_loss_db = Decibels(allow_null=True)
    line = serializers.IntegerField(source="line_id", allow_null=True)
    line_identifier = serializers.CharField(source="line")
    place = serializers.IntegerField(source="dwelling_id", allow_null=True)
    address = serializers.CharField(source="dwelling")
    joint = serializers.IntegerField(source="joint_id", allow_null=True)
    joined_to = serializers.IntegerField(source="joined_to_id", allow_null=True)
    joined_to_name = serializers.CharField(source="joined_to")
    light = LitSerializer(source="lit", many=True)


class PlaceNameSerializer(serializers.ModelSerializer[Place]):
    """A place by its own name."""

    class Meta:
        model = Place
        fields = ("id", "kind", "name", "storey")
        read_only_fields = fields


class LineOfSerializer(serializers.Serializer[LineOf]):
    """A line of a dwelling and the leg promised to it; `state` is empty where none is."""

    line = serializers.IntegerField(source="line_id")
    identifier = serializers.CharField()
    state = serializers.CharField()
    leg = serializers.IntegerField(source="leg_id", allow_null=True)
    leg_name = serializers.CharField(source="leg")


class JudgedSerializer(serializers.Serializer[Judged]):
    """A reading and its verdict; `level_dbm` null means that the meter saw no light."""

    reading = serializers.IntegerField(source="reading.pk")
    wavelength_nm = serializers.IntegerField(source="reading.wavelength_nm")
    level_dbm = FromThousandths("reading.level_mdbm", allow_null=True)
    taken_at = serializers.DateTimeField(source="reading.taken_at")
    verdict = VerdictOnReadingSerializer(source="*")


class TerminalOfSerializer(serializers.Serializer[TerminalOf]):
    """A home terminal, the light at its port and the latest reading there."""

    equipment = serializers.IntegerField(source="equipment_id")
    point = serializers.IntegerField(source="point_id")
    name = serializers.CharField()
    serial = serializers.CharField()
    light = LitSerializer(source="lit", many=True)
    reading = JudgedSerializer(allow_null=True)


class DwellingSerializer(serializers.Serializer[Dwelling]):
    """A flat, house or unit with its lines and home terminals."""

    place = PlaceNameSerializer()
    lines = LineOfSerializer(many=True)
    terminals = TerminalOfSerializer(many=True)


class FloorSerializer(serializers.Serializer[Floor]):
    """A floor; `place` is null for the dwellings that are directly in the building."""

    place = PlaceNameSerializer(allow_null=True)
    dwellings = DwellingSerializer(many=True)


class SplitterSerializer(serializers.Serializer[Any]):
    """A splitter and how many of its legs are in each condition."""

    equipment = serializers.IntegerField(source="pk")
    name = serializers.CharField()
    place = serializers.IntegerField(source="place_id")
    leg_counts = LegCountsSerializer()

    def to_representation(self, instance: tuple[Equipment, LegCounts]) -> dict[str, Any]:
        """Return a splitter with its counts, which come as a pair."""
        splitter, counts = instance
        return {
            "equipment": splitter.pk,
            "name": splitter.name,
            "place": splitter.place_id,
            "leg_counts": LegCountsSerializer(counts).data,
        }


class BuildingSerializer(serializers.Serializer[Building]):
    """A building by floors from the top down, the other places in it, and its splitters."""

    place = PlaceNameSerializer()
    floors = FloorSerializer(many=True)
    others = PlaceNameSerializer(many=True)
    splitters = SplitterSerializer(many=True)
    leg_counts = LegCountsSerializer(source="counts")
