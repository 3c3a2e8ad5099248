"""What became of a thing: who altered it, when, why, from what to what."""

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.changes import ChangeSerializer
from api.directory import NOUNS, model_of
from api.shapes import Shape, checked_query
from records.changes.refusals import Missing
from records.queries.history import Event, FieldChange, events


@extend_schema_field(
    {"nullable": True, "oneOf": [{"type": each} for each in ("string", "number", "boolean")]}
)
class KeptValue(serializers.Field[Any, Any, Any, Any]):
    """A value as the record kept it, in the unit that its field names."""

    def __init__(self, source: str) -> None:
        """Read `before` or `after`."""
        super().__init__(read_only=True, source="*")
        self.which = source

    def to_representation(self, value: FieldChange) -> Any:
        kept = getattr(value, self.which)
        factor = _factor(value.field)
        return kept / factor if factor > 1 and kept is not None else kept


_UNITS = {"mdb": ("db", 1000), "mdbm": ("dbm", 1000), "cm": ("m", 100)}
"""Units in which the record keeps whole numbers, the unit written, and how many make one."""


_RENAMED = {"measured mdb": "measured_loss_db", "launch mdbm": "measured_launch_dbm"}
"""Columns that the API calls otherwise than their own name in another unit."""


def _factor(field: str) -> int:
    return _UNITS.get(field.rpartition(" ")[2], ("", 1))[1]


class FieldChangeSerializer(serializers.Serializer[FieldChange]):
    """One field of a thing, from what to what."""

    field = serializers.SerializerMethodField()
    before = KeptValue("before")
    after = KeptValue("after")

    def get_field(self, change: FieldChange) -> str:
        """Return the field's name as in the detail, its unit last."""
        if change.field in _RENAMED:
            return _RENAMED[change.field]
        name, _, unit = change.field.rpartition(" ")
        written = _UNITS.get(unit, (unit, 1))[0]
        return f"{name}_{written}".strip("_").replace(" ", "_")


class EventSerializer(serializers.Serializer[Event]):
    """What one change did to a thing: it began, was altered or ended."""

    what = serializers.CharField()
    change = ChangeSerializer()
    fields_altered = FieldChangeSerializer(source="fields", many=True)


class HistoryView(APIView):
    """What became of a thing, the latest first, also when it is no longer there."""

    @extend_schema(responses=EventSerializer(many=True), tags=["history"])
    def get(self, request: Request, noun: str, pk: int) -> Response:
        """Return all that happened to a thing."""
        checked_query(Shape, request.query_params)
        kept = [name for name, view in NOUNS.items() if view.has_history]
        if noun not in kept:
            raise Missing(
                f"There is no history of {noun[:40]}.", hint=f"Use one of: {', '.join(kept)}."
            )
        model = model_of(noun)
        found = events(model, pk)
        if not found:
            raise Missing(
                f"There was never a {model._meta.verbose_name} number {pk}.",
                hint="Check the number.",
            )
        return Response([EventSerializer(each).data for each in found])
