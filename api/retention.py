"""What leads to a person and has had its time: listed and cut out, by an owner only."""

from datetime import datetime
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.shapes import Id, Shape, VerbShape, checked_query
from records.changes.retention import refuse_but_owners
from records.queries.moment import number_at
from records.queries.retention import lines_past_use, people_idle_since, sightings_before


class ForgetOutsideRef(VerbShape):
    """What `retention.forget_outside_ref` takes."""

    example = {"line": 12, "reason": "contract ended two years ago"}

    line = Id()


class ForgetPerson(VerbShape):
    """What `retention.forget_person` takes."""

    example = {"person": 3, "reason": "left the crew two years ago"}

    person = Id(help_text="The user.")


class ForgetSightings(VerbShape):
    """What `retention.forget_sightings` takes."""

    example = {"seen_before": "2026-03-02T00:00:00Z", "reason": "kept two years"}

    seen_before = serializers.DateTimeField(help_text="Scans made before this moment.")


class PastUseShape(Shape):
    """The moment since which things were not needed."""

    before = serializers.DateTimeField(help_text="Not needed since this moment.")


class ReferenceSerializer(serializers.Serializer[Any]):
    """A line whose outside reference has had its time."""

    line = serializers.IntegerField(source="pk")
    identifier = serializers.CharField()


class IdlePersonSerializer(serializers.Serializer[Any]):
    """A user who neither signed in nor changed anything since."""

    person = serializers.IntegerField(source="pk")
    username = serializers.CharField()
    changed_at = serializers.DateTimeField(allow_null=True)


class PastUseSerializer(serializers.Serializer[Any]):
    """What has had its time. `sighting_count` counts scans of labels that say who made them."""

    lines = ReferenceSerializer(many=True)
    sighting_count = serializers.IntegerField()
    people = IdlePersonSerializer(many=True)


class RetentionView(APIView):
    """What leads to a person and has had its time."""

    @extend_schema(
        parameters=[PastUseShape], responses=PastUseSerializer, tags=["verbs: retention"]
    )
    def get(self, request: Request) -> Response:
        """Return the references, scans and accounts not needed since a moment; for an owner."""
        moment: datetime = checked_query(PastUseShape, request.query_params)["before"]
        actor: Any = request.user
        refuse_but_owners(actor)
        found = {
            "lines": lines_past_use(number_at(moment)),
            "sighting_count": sightings_before(moment),
            "people": people_idle_since(moment),
        }
        return Response(PastUseSerializer(found).data)
