"""How endpoints are described in the OpenAPI schema."""

from typing import Any

from django.db.models import CompositePrimaryKey
from drf_spectacular.openapi import AutoSchema

from api.problems import PROBLEM_JSON, ProblemSerializer
from api.shapes import Shape


class Schema(AutoSchema):
    """Describe an endpoint; each can answer a problem besides."""

    def get_tags(self) -> list[str]:
        """Group endpoints by noun."""
        return [self.path.split("/")[2]]

    def _map_model_field(self, model_field: Any, direction: Any) -> Any:
        if isinstance(model_field, CompositePrimaryKey):
            return {"type": "string", "example": "101-3"}
        return super()._map_model_field(model_field, direction)  # type: ignore[no-untyped-call] # its own

    def _map_basic_serializer(self, serializer: Any, direction: Any) -> Any:
        described = super()._map_basic_serializer(serializer, direction)  # type: ignore[no-untyped-call] # its own
        if isinstance(serializer, Shape):
            described["additionalProperties"] = False
        return described

    def _get_response_bodies(self, direction: Any = "response") -> Any:
        problem = self.resolve_serializer(ProblemSerializer, "response").ref
        return {
            **super()._get_response_bodies(direction),
            "default": {
                "description": "A problem, in the words that the pages use.",
                "content": {PROBLEM_JSON: {"schema": problem}},
            },
        }
