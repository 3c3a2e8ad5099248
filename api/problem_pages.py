"""The pages that explain each kind of problem, for people and for programs."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer, TemplateHTMLRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.problems import Kind, kinds
from api.shapes import Shape, checked_query
from records.changes.refusals import Missing

_ADVICE = {
    400: "The request can't be understood. Correct it before it is sent again.",
    401: "Sign in, then repeat the request.",
    403: "Only someone with the right to may do this. Ask an owner of the record.",
    404: "What the request names is not there. Find it again.",
    409: "The request is in order, but the record as it stands does not allow it. Nothing was "
    "changed. Look at the things named, then decide.",
    422: "The request can't be right whatever the record says. Correct the value named.",
    429: "Wait as long as Retry-After says, then repeat the request.",
    500: "Nothing was changed. Report the time and the address.",
    503: "Nothing was changed. Repeat the same request in a moment.",
}


class KindSerializer(serializers.Serializer[Kind]):
    """A kind of problem: what it means, and what to do."""

    code = serializers.CharField()
    status = serializers.IntegerField()
    title = serializers.CharField()
    type = serializers.CharField(source="address")
    advice = serializers.SerializerMethodField()

    def get_advice(self, kind: Kind) -> str:
        """Return what to do in general; each case has its own hint besides."""
        return _ADVICE.get(kind.status, "Correct the request, then send it again.")


class ProblemsView(APIView):
    """Every kind of problem."""

    renderer_classes = (JSONRenderer, TemplateHTMLRenderer)

    @extend_schema(
        operation_id="problems_list", responses=KindSerializer(many=True), tags=["problems"]
    )
    def get(self, request: Request) -> Response:
        """Return every kind of problem with its code, status, meaning and advice."""
        checked_query(Shape, request.query_params)
        told = [KindSerializer(each).data for each in kinds().values()]
        return _page(told) if _wants_a_page(request) else Response(told)


class ProblemView(APIView):
    """One kind of problem."""

    renderer_classes = (JSONRenderer, TemplateHTMLRenderer)

    @extend_schema(operation_id="problems_retrieve", responses=KindSerializer, tags=["problems"])
    def get(self, request: Request, code: str) -> Response:
        """Return what a kind of problem means, and what to do."""
        checked_query(Shape, request.query_params)
        kind = kinds().get(code)
        if kind is None:
            raise Missing(
                f"There is no problem '{code[:40]}'.", hint="/api/problems/ lists them all."
            )
        told = KindSerializer(kind).data
        return _page([told]) if _wants_a_page(request) else Response(told)


def _wants_a_page(request: Request) -> bool:
    return request.accepted_renderer.format == "html"


def _page(told: list[Any]) -> Response:
    return Response({"kinds": told}, template_name="api/problems.html")
