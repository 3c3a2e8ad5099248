"""Points and ports: anywhere a meter could be put."""

from collections.abc import Iterable, Sequence

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, WholeFilter, YesNoFilter
from api.nouns import Beside, IdAside, NounViewSet, WordsAside
from api.quantities import FromThousandths
from records.models import JointEnd, LegCondition, Point, Polish, Port, Role
from records.queries.names import addresses, short_name


class PointSerializer(serializers.ModelSerializer[Point]):
    """A point: a port of an equipment, or one end of a fibre.

    A port has `equipment` and `place`, a fibre end `cable` and `fibre`; the others are null.
    `condition` and `barred_reason` are a splitter leg's, `measured_loss_db` its measured loss from
    the splitter's input. `joined_to` is the other point of the joint, if it is joined.
    """

    name = serializers.SerializerMethodField()
    cable = serializers.IntegerField(source="passage.cable_id", allow_null=True, read_only=True)
    fibre = serializers.SerializerMethodField()
    place = serializers.IntegerField(source="equipment.place_id", allow_null=True, read_only=True)
    address = WordsAside("addresses", "equipment_id")
    polish = serializers.ChoiceField(Polish.choices, allow_blank=True, read_only=True)
    condition = serializers.ChoiceField(LegCondition.choices, allow_blank=True, read_only=True)
    measured_loss_db = FromThousandths("measured_mdb", allow_null=True)
    joint = serializers.IntegerField(source="joint_end.joint_id", allow_null=True, read_only=True)
    joined_to = IdAside("mates", "pk")
    joined_to_name = WordsAside("mate_names", "pk")

    class Meta:
        model = Point
        fields = (
            "id",
            "role",
            "number",
            "name",
            "equipment",
            "cable",
            "fibre",
            "place",
            "address",
            "polish",
            "condition",
            "barred_reason",
            "measured_loss_db",
            "joint",
            "joined_to",
            "joined_to_name",
        )
        read_only_fields = fields

    def get_name(self, point: Point) -> str:
        """Return what it is called beside its owner."""
        return short_name(point)

    def get_fibre(self, point: Point) -> int | None:
        """Return the fibre it is an end of."""
        return point.passage_id if point.equipment_id is None else None


class PointFilters(NounFilters):
    """How points are found."""

    role = KindFilter(choices=Role.choices)
    number = WholeFilter(help_text="The port's number, or the fibre's.")
    equipment = IdFilter()
    cable = IdFilter("passage__cable")
    fibre = IdFilter("passage", help_text="The two ends of this fibre.")
    place = IdFilter("equipment__place", help_text="Ports of what stands in this very place.")
    inside = InsideFilter("equipment__place__path", help_text="Ports in it and all inside it.")
    condition = KindFilter(choices=LegCondition.choices, help_text="Of a splitter leg.")
    joined = YesNoFilter("joint_end", lookup_expr="isnull", exclude=True)


_READ_WITH = ("equipment__place", "passage__cable", "joint_end")


class PointViewSet(NounViewSet):
    """Points: every port of every equipment and both ends of every fibre."""

    queryset: QuerySet[Point] = Point.objects.select_related(*_READ_WITH)
    serializer_class = PointSerializer
    filters = PointFilters
    orderings = {"id": "pk", "number": "number", "role": "role"}

    def beside(self, rows: Sequence[Point]) -> Beside:
        mates = _mates(rows)
        return {
            "addresses": _addresses(rows),
            "mates": {pk: mate.pk for pk, mate in mates.items()},
            "mate_names": {pk: short_name(mate) for pk, mate in mates.items()},
        }


class PortViewSet(PointViewSet):
    """Ports: the points of equipment."""

    queryset = Port.objects.select_related(*_READ_WITH)


def _mates(rows: Iterable[Point]) -> dict[int, Point]:
    """Return the point that each of these is joined to."""
    joints = {each.joint_end.joint_id for each in rows if hasattr(each, "joint_end")}
    ends: dict[int, list[Point]] = {}
    for end in JointEnd.objects.filter(joint__in=joints).select_related(
        "point__equipment", "point__passage__cable"
    ):
        ends.setdefault(end.joint_id, []).append(end.point)
    return {
        point.pk: mate
        for one, other in ends.values()
        for point, mate in ((one, other), (other, one))
    }


def _addresses(rows: Iterable[Point]) -> dict[int, str]:
    """Return the address of the place where each point's equipment stands, by equipment."""
    owners = {each.equipment for each in rows if each.equipment is not None}
    known = addresses({each.place for each in owners})
    return {each.pk: known[each.place_id] for each in owners}
