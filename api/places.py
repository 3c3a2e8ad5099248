"""Places: where things stand, in a tree from an estate down to a flat."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter, YesNoFilter
from api.nouns import Beside, IdAside, NounViewSet, WordsAside
from api.shapes import Id, Text, VerbShape, Whole
from records.models import Place, PlaceKind
from records.queries.legs import after_all_inside
from records.queries.names import addresses


class PlaceSerializer(serializers.ModelSerializer[Place]):
    """A place. Its address names the places around it, widest first."""

    address = WordsAside("addresses", "pk")
    parent = IdAside(  # type: ignore[assignment] # the framework takes fields off the class
        "parents", "path", help_text="The place around it; null for an estate."
    )
    is_dwelling = serializers.BooleanField(read_only=True)

    class Meta:
        model = Place
        fields = (
            "id",
            "kind",
            "name",
            "address",
            "parent",
            "storey",
            "latitude_deg",
            "longitude_deg",
            "note",
            "retired",
            "is_dwelling",
        )
        read_only_fields = fields


class ParentFilter(IdFilter):
    """A place: the places directly inside it."""

    def filter(self, qs: QuerySet[Any], value: int | None) -> QuerySet[Any]:
        """Limit to one step below the place; a place that does not exist has none."""
        if value is None:
            return qs
        around = Place.objects.filter(pk=value).first()
        if around is None:
            return qs.none()
        inside = {"path__gte": around.path, "path__lt": after_all_inside(around)}
        return qs.filter(depth=around.depth + 1, **inside)


class PlaceFilters(NounFilters):
    """How places are found."""

    kind = KindFilter(choices=PlaceKind.choices)
    name = TextFilter()
    parent = ParentFilter()
    inside = InsideFilter("path")
    retired = YesNoFilter(help_text="No longer there.")


class PlaceViewSet(NounViewSet):
    """Places, from an estate down to a flat."""

    queryset = Place.objects.all()
    serializer_class = PlaceSerializer
    filters = PlaceFilters
    orderings = {"id": "pk", "name": "name", "kind": "kind", "storey": "storey", "tree": "path"}

    def beside(self, rows: Sequence[Place]) -> Beside:
        return {"addresses": addresses(rows), "parents": _parents(rows)}


def _parents(rows: Sequence[Place]) -> dict[str, int]:
    around = {each.path: each.path[: -Place.steplen] for each in rows}
    found = dict(Place.objects.filter(path__in=set(around.values())).values_list("path", "pk"))
    return {path: found[above] for path, above in around.items() if above}


class AddPlace(VerbShape):
    """What `places.add` takes."""

    example = {"kind": "flat", "name": "Flat 12", "parent": 4, "storey": 1}

    kind = serializers.ChoiceField(PlaceKind.choices)
    name = Text()
    parent = Id(  # type: ignore[assignment] # the framework takes fields off the class
        required=False, allow_null=True, help_text="The place around it, but for an estate."
    )
    storey = Whole(required=False, allow_null=True, help_text="0 is the ground floor.")
    note = Text(required=False)


class RenamePlace(VerbShape):
    """What `places.rename` takes."""

    example = {"place": 12, "name": "Flat 12A", "reason": "number plate read on site"}

    place = Id()
    name = Text()


class RetirePlace(VerbShape):
    """What `places.retire` takes."""

    example = {"place": 12, "reason": "pulled down"}

    place = Id()


class ReinstatePlace(VerbShape):
    """What `places.reinstate` takes."""

    example = {"place": 12, "reason": "retired by mistake"}

    place = Id()
