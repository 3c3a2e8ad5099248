"""Joints: two points made one."""

from django.db.models import Prefetch
from rest_framework import serializers

from api.filters import IdFilter, KindFilter, NounFilters, TextFilter
from api.nouns import NounViewSet
from api.quantities import FromThousandths
from api.shapes import Id, Number, Text, VerbShape
from records.models import Joint, JointEnd, JointKind
from records.queries.names import short_name


class JointSerializer(serializers.ModelSerializer[Joint]):
    """A joint between the points `a` and `b`.

    `stands_in` is the closure, panel or outlet that holds it, on `tray`. `measured_loss_db`
    replaces the catalogue's three values.
    """

    entry_name = serializers.CharField(source="entry.name", read_only=True)
    stands_in_name = serializers.CharField(
        source="stands_in.name", allow_null=True, read_only=True
    )
    measured_loss_db = FromThousandths("measured_mdb", allow_null=True)
    a = serializers.SerializerMethodField()
    a_name = serializers.SerializerMethodField()
    b = serializers.SerializerMethodField()
    b_name = serializers.SerializerMethodField()

    class Meta:
        model = Joint
        fields = (
            "id",
            "kind",
            "a",
            "a_name",
            "b",
            "b_name",
            "entry",
            "entry_name",
            "stands_in",
            "stands_in_name",
            "tray",
            "measured_loss_db",
        )
        read_only_fields = fields

    def get_a(self, joint: Joint) -> int:
        """Return its first point."""
        return joint.ends.all()[0].point_id

    def get_a_name(self, joint: Joint) -> str:
        """Return what its first point is called."""
        return short_name(joint.ends.all()[0].point)

    def get_b(self, joint: Joint) -> int:
        """Return its second point."""
        return joint.ends.all()[1].point_id

    def get_b_name(self, joint: Joint) -> str:
        """Return what its second point is called."""
        return short_name(joint.ends.all()[1].point)


class JointFilters(NounFilters):
    """How joints are found."""

    kind = KindFilter(choices=JointKind.choices)
    point = IdFilter("ends__point")
    equipment = IdFilter("ends__point__equipment", distinct=True, help_text="At a port of this.")
    cable = IdFilter("ends__point__passage__cable", distinct=True, help_text="At a fibre of this.")
    stands_in = IdFilter(help_text="Held by this closure, panel or outlet.")
    tray = TextFilter(lookup_expr="iexact")
    entry = IdFilter(help_text="Of this catalogue entry.")


class JointViewSet(NounViewSet):
    """Joints: mated connectors, fusion splices and mechanical splices."""

    queryset = Joint.objects.select_related("entry", "stands_in").prefetch_related(
        Prefetch(
            "ends",
            JointEnd.objects.select_related("point__equipment", "point__passage__cable").order_by(
                "side"
            ),
        )
    )
    serializer_class = JointSerializer
    filters = JointFilters
    orderings = {"id": "pk", "kind": "kind", "tray": "tray"}


class JoinPoints(VerbShape):
    """What `joints.join` takes."""

    example = {"a": 101, "b": 230, "kind": "fusion", "stands_in": 14, "tray": "2", "loss_db": 0.04}

    a = Id(help_text="A point.")
    b = Id(help_text="The point to join it to.")
    kind = serializers.ChoiceField(JointKind.choices)
    entry = Id(required=False, allow_null=True, help_text="Its catalogue entry, if not the usual.")
    stands_in = Id(
        required=False, allow_null=True, help_text="The closure, panel or outlet that holds it."
    )
    tray = Text(required=False)
    loss_db = Number(required=False, allow_null=True, help_text="As the splicer measured it.")


class PartJoint(VerbShape):
    """What `joints.part` takes."""

    example = {"joint": 55, "reason": "moved to another leg"}

    joint = Id()


class PatchPorts(VerbShape):
    """What `joints.patch` takes."""

    example = {"a": 101, "b": 230, "length_m": 2, "reason": "flat 12 connected"}

    a = Id(help_text="A port.")
    b = Id(help_text="The port to patch it to.")
    length_m = Number(required=False, help_text="Of the cord.")
    name = Text(required=False, help_text="Of the cord; the next number if not given.")
    entry = Id(required=False, allow_null=True, help_text="The catalogue entry of its fibre.")


class MeasureJoint(VerbShape):
    """What `joints.measure` takes."""

    example = {"joint": 55, "loss_db": 0.04}

    joint = Id()
    loss_db = Number()


class UnmeasureJoint(VerbShape):
    """What `joints.unmeasure` takes."""

    example = {"joint": 55, "reason": "spliced anew"}

    joint = Id()
