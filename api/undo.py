"""What would reverse a change, or what stands in the way."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.jobs import StepSerializer
from api.shapes import Shape, checked_query
from records.changes.undo import Proposal, propose


class ObstacleSerializer(serializers.Serializer[Any]):
    """What stands in the way; `change` is the later one at fault, null where it is none."""

    words = serializers.CharField()
    change = serializers.IntegerField(allow_null=True)


class ProposalSerializer(serializers.Serializer[Proposal]):
    """The steps that reverse a change, as `jobs.draft` takes them, or the obstacles.

    `notes` say what stays different all the same. `place` is the smallest one around all that the
    change touched.
    """

    number = serializers.IntegerField()
    is_possible = serializers.BooleanField()
    steps = StepSerializer(many=True)
    obstacles = ObstacleSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    place = serializers.IntegerField(allow_null=True)


class UndoView(APIView):
    """What would reverse a change."""

    @extend_schema(responses=ProposalSerializer, tags=["changes"])
    def get(self, request: Request, pk: int) -> Response:
        """Return the steps that reverse a change, or what stands in the way; nothing is done.

        Draft a job from the steps, preview it, and it tells what they would do.
        """
        checked_query(Shape, request.query_params)
        return Response(ProposalSerializer(propose(pk)).data)
