"""Cables and their fibres."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from rest_framework import serializers

from api.filters import (
    GivenFilter,
    IdFilter,
    InsideFilter,
    KindFilter,
    NounFilters,
    TextFilter,
    WholeFilter,
)
from api.nouns import Beside, IdAside, NounViewSet, WordsAside
from api.quantities import FromHundredths, FromThousandths
from api.shapes import Id, Number, Text, VerbShape, Whole
from records.models import Cable, CableKind, Fibre, Point, Polish
from records.optics.colours import ColourScheme as Scheme
from records.optics.colours import place_of_fibre
from records.queries.cables import End, FibreOf, colour_schemes
from records.queries.names import addresses


class CableSerializer(serializers.ModelSerializer[Cable]):
    """A cable or patch cord. `length_m` is the length of its fibres, slack included."""

    a_address = WordsAside("addresses", "a_place_id")
    b_address = WordsAside("addresses", "b_place_id")
    entry_name = serializers.CharField(source="entry.name", read_only=True)
    length_m = FromHundredths("length_cm")
    diameter_mm = serializers.FloatField(read_only=True, allow_null=True)

    class Meta:
        model = Cable
        fields = (
            "id",
            "kind",
            "name",
            "a_place",
            "a_address",
            "b_place",
            "b_address",
            "entry",
            "entry_name",
            "colour_scheme",
            "fibre_count",
            "length_m",
            "diameter_mm",
        )
        read_only_fields = fields


class EitherEndFilter(IdFilter):
    """A place: the cables that begin or end there."""

    def filter(self, qs: QuerySet[Any], value: int | None) -> QuerySet[Any]:
        """Limit to the cables with an end in that very place."""
        return qs if value is None else qs.filter(Q(a_place=value) | Q(b_place=value))


class CableFilters(NounFilters):
    """How cables are found."""

    kind = KindFilter(choices=CableKind.choices)
    name = TextFilter()
    a_place = IdFilter()
    b_place = IdFilter()
    place = EitherEndFilter()
    a_inside = InsideFilter("a_place__path", help_text="Whose A end is in this place or inside.")
    b_inside = InsideFilter("b_place__path", help_text="Whose B end is in this place or inside.")
    entry = IdFilter(help_text="Of this fibre type.")


class CableViewSet(NounViewSet):
    """Cables between places, and patch cords."""

    queryset = Cable.objects.select_related("a_place", "b_place", "entry")
    serializer_class = CableSerializer
    filters = CableFilters
    orderings = {
        "id": "pk",
        "name": "name",
        "length_m": "length_cm",
        "fibre_count": "fibre_count",
    }

    def beside(self, rows: Sequence[Cable]) -> Beside:
        ends = {each.a_place for each in rows} | {each.b_place for each in rows}
        return {"addresses": addresses(ends)}


class FibreSerializer(serializers.ModelSerializer[Fibre]):
    """A fibre of a cable, with the points at its A end and B end.

    `condition` is not kept but follows from both ends and the damage: unterminated, available,
    used or damaged. `damage` says why it is damaged. `colour` is empty where the cable has no
    colour scheme. `measured_loss_db` replaces what the catalogue reckons for the length.
    """

    cable_name = serializers.CharField(source="cable.name", read_only=True)
    colour = WordsAside("colours", "pk")
    condition = WordsAside("conditions", "pk")
    length_m = FromHundredths("length_cm")
    measured_loss_db = FromThousandths("measured_mdb", allow_null=True)
    entry_name = serializers.CharField(source="entry.name", read_only=True)
    a_end = IdAside("a_ends", "pk")
    b_end = IdAside("b_ends", "pk")

    class Meta:
        model = Fibre
        fields = (
            "id",
            "cable",
            "cable_name",
            "number",
            "colour",
            "condition",
            "damage",
            "length_m",
            "measured_loss_db",
            "entry",
            "entry_name",
            "a_end",
            "b_end",
        )
        read_only_fields = fields


class FibreFilters(NounFilters):
    """How fibres are found. Their condition is not kept, so there is no filter for it."""

    cable = IdFilter()
    number = WholeFilter()
    damaged = GivenFilter("damage")


class FibreViewSet(NounViewSet):
    """Fibres: what light goes through in a cable."""

    queryset = Fibre.objects.select_related("cable", "entry").prefetch_related(
        Prefetch("points", Point.objects.select_related("joint_end").order_by("side"))
    )
    serializer_class = FibreSerializer
    filters = FibreFilters
    orderings = {"id": "pk", "number": "number", "length_m": "length_cm"}

    def beside(self, rows: Sequence[Fibre]) -> Beside:
        schemes = colour_schemes(each.cable.colour_scheme_id for each in rows if each.cable)
        known = [_known(each, schemes) for each in rows]
        return {
            "colours": {each.passage_id: each.colour for each in known},
            "conditions": {each.passage_id: each.condition for each in known},
            "a_ends": {each.passage_id: each.a_end.point_id for each in known},
            "b_ends": {each.passage_id: each.b_end.point_id for each in known},
        }


def _known(fibre: Fibre, schemes: Mapping[int | None, Scheme]) -> FibreOf:
    """Return a fibre as the queries know it, by whose rules its colour and condition follow."""
    a_end, b_end = (_end(point) for point in fibre.points.all())
    cable = fibre.cable
    scheme = schemes.get(cable.colour_scheme_id) if cable else None
    return FibreOf(
        passage_id=fibre.pk,
        number=fibre.number,
        colour=str(place_of_fibre(scheme, fibre.number)) if scheme else "",
        damage=fibre.damage,
        length_m=fibre.length_cm / 100,
        measured_loss_db=None,
        a_end=a_end,
        b_end=b_end,
    )


def _end(point: Point) -> End:
    is_joined = hasattr(point, "joint_end")
    return End(
        point_id=point.pk,
        polish=point.polish,
        joint_id=point.joint_end.joint_id if is_joined else None,
        joined_to_id=None,
        joined_to="",
    )


_POLISHES = [("", "bare"), *Polish.choices]


class LayCable(VerbShape):
    """What `cables.lay` takes."""

    example = {
        "name": "F1",
        "a_place": 2,
        "b_place": 7,
        "length_m": 1240,
        "fibre_count": 12,
        "colour_scheme": 1,
    }

    name = Text()
    a_place = Id(help_text="Where its A end is.")
    b_place = Id(help_text="Where its B end is.")
    length_m = Number(help_text="Of the fibre, slack included.")
    fibre_count = Whole(required=False)
    kind = serializers.ChoiceField(CableKind.choices, required=False)
    entry = Id(required=False, allow_null=True, help_text="The catalogue entry of its fibre.")
    colour_scheme = Id(required=False, allow_null=True)
    a_polish = serializers.ChoiceField(
        _POLISHES, required=False, help_text="Of the connectors at the A end; empty for bare ends."
    )
    b_polish = serializers.ChoiceField(
        _POLISHES, required=False, help_text="Of the connectors at the B end; empty for bare ends."
    )
    diameter_mm = serializers.DecimalField(
        max_digits=4, decimal_places=1, required=False, allow_null=True, help_text="Of the sheath."
    )


class _OfFibre(VerbShape):
    """What all verbs about one fibre take."""

    cable = Id()
    fibre = Whole(help_text="Its number in the cable, from 1.")


class MeasureFibre(_OfFibre):
    """What `cables.measure` takes."""

    example = {"cable": 3, "fibre": 4, "length_m": 1252.4, "reason": "measured from the head-end"}

    length_m = Number(required=False, allow_null=True)
    loss_db = Number(required=False, allow_null=True, help_text="From end to end.")


class DamageFibre(_OfFibre):
    """What `cables.damage` takes."""

    example = {"cable": 3, "fibre": 4, "why": "crushed in the riser"}

    why = Text(help_text="What is wrong with it.")


class MendFibre(_OfFibre):
    """What `cables.mend` takes."""

    example = {"cable": 3, "fibre": 4}


class RemoveCable(VerbShape):
    """What `cables.remove` takes."""

    example = {"cable": 3, "reason": "pulled out"}

    cable = Id()


class RenameCable(VerbShape):
    """What `cables.rename` takes."""

    example = {"cable": 3, "name": "F1A"}

    cable = Id()
    name = Text()


class UnmeasureFibre(_OfFibre):
    """What `cables.unmeasure` takes."""

    example = {"cable": 3, "fibre": 4, "reason": "measured on another fibre"}
