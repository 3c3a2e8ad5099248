"""How the labels of a place stand: missing, gone wrong, never seen; and which to take off."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.questions import thing
from api.shapes import Shape, checked_query
from labels.choices import is_too_large, place_items
from labels.coverage import counted, coverage
from labels.standing import State, left_behind, standings
from records.changes.refusals import Malformed
from records.models import Place
from records.models.tag_code import grouped
from records.queries.names import address


class StandingShape(Shape):
    """Which labels are listed."""

    state = serializers.ChoiceField(
        [state.value for state in State], required=False, help_text="Only those that stand so."
    )
    seen = serializers.ChoiceField(
        ["true", "false"], required=False, help_text="Only labels scanned since, or never."
    )


class CoverageSerializer(serializers.Serializer[Any]):
    """How many things of a place have a label, and how many labels were seen."""

    things = serializers.IntegerField()
    labelled = serializers.IntegerField()
    stale = serializers.IntegerField(help_text="Say what is no longer so.")
    missing = serializers.IntegerField()
    unrecorded = serializers.IntegerField(help_text="Have a tag, but no print is recorded.")
    ports = serializers.IntegerField()
    ports_without = serializers.IntegerField()
    coded = serializers.IntegerField()
    never_seen = serializers.IntegerField()


class LabelStandingSerializer(serializers.Serializer[Any]):
    """How one label stands. `key` names it where labels are printed."""

    key = serializers.CharField(source="item.key")
    name = serializers.CharField(source="item.name")
    address = serializers.CharField(source="item.where")
    noun = serializers.CharField(source="item.noun")
    thing = serializers.IntegerField(source="item.thing_id")
    code = serializers.SerializerMethodField()
    state = serializers.CharField()
    why = serializers.ListField(child=serializers.CharField())
    seen_at = serializers.DateTimeField(allow_null=True)

    def get_code(self, standing: Any) -> str:
        """Return the code that hangs on it; empty where there is none."""
        return grouped(standing.item.code) if standing.item.code else ""


class LeftBehindSerializer(serializers.Serializer[Any]):
    """A label to take off: what it was printed for is gone."""

    id = serializers.IntegerField(source="pk")
    kind = serializers.CharField()
    run = serializers.IntegerField(source="run_id")


class PlaceLabelsSerializer(serializers.Serializer[Any]):
    """The labels of a place: how many, how each stands, and which to take off."""

    coverage = CoverageSerializer()
    labels = LabelStandingSerializer(many=True)
    left_behind = LeftBehindSerializer(many=True)


class PlaceLabelsView(APIView):
    """The labels of a place."""

    @extend_schema(
        parameters=[StandingShape], responses=PlaceLabelsSerializer, tags=["places", "labels"]
    )
    def get(self, request: Request, pk: int) -> Response:
        """Return how the labels of a place and all inside it stand, in the order of a walk."""
        asked = checked_query(StandingShape, request.query_params)
        place = thing(Place.objects.all(), pk)
        if is_too_large(place):
            raise Malformed(
                f"{address(place)} holds more labels than one answer.",
                hint="Ask for its parts one after the other.",
            )
        items = place_items(place)
        found = counted(standings(items))
        state, seen = asked.get("state"), asked.get("seen")
        listed = [
            each
            for each in found
            if (state is None or each.state == state)
            and (seen is None or (seen == "true") == (each.seen_at is not None))
            and (seen is None or each.item.code)
        ]
        answer = {
            "coverage": coverage(found),
            "labels": listed,
            "left_behind": left_behind(place, items),
        }
        return Response(PlaceLabelsSerializer(answer).data)
