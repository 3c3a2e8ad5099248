"""The first answer of the API: where everything is. And the answer where nothing is."""

from typing import Any

from django.urls import Resolver404, resolve, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.directory import NOUNS
from api.faults import FaultError
from api.shapes import Shape, checked_query
from api.verbs import SHAPES


class IndexSerializer(serializers.Serializer[Any]):
    """Where everything is: each name with its address."""

    docs = serializers.CharField()
    schema = serializers.CharField()
    problems = serializers.CharField()
    find = serializers.CharField()
    nouns = serializers.DictField(child=serializers.CharField())
    verbs = serializers.DictField(child=serializers.CharField())


class IndexView(APIView):
    """Where everything is."""

    @extend_schema(operation_id="index", responses=IndexSerializer, tags=["index"])
    def get(self, request: Request) -> Response:
        """Return the address of every noun and verb."""
        checked_query(Shape, request.query_params)
        named = {name: reverse(f"api:{name}") for name in ("docs", "schema", "problems", "find")}
        nouns = {name: reverse(f"api:{name}-list") for name in NOUNS}
        verbs = {name: reverse(f"api:verb {name}") for name in SHAPES}
        return Response({**named, "nouns": nouns, "verbs": verbs})


class NothingHereView(APIView):
    """Any address under /api/ that nothing answers at."""

    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        hint = "/api/ lists every noun and verb."
        if _answers(f"{request.path}/"):
            hint = f"Write it with a slash at its end: {request.path}/"
        raise FaultError("no_such_address", f"Nothing is at {request.path[:200]}.", hint=hint)


def _answers(path: str) -> bool:
    try:
        found = resolve(path)
    except Resolver404:
        return False
    return getattr(found.func, "cls", None) is not NothingHereView
