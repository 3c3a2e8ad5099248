"""What all nouns share: a list with filters, order and pages, and a detail; both read only."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django.db.models import Model, QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from api.filters import Filtering, NounFilters, Ordering
from api.paging import Pages
from api.shapes import Shape, checked_query
from api.standing import ReadShape, as_asked
from records.changes.refusals import Missing

Beside = dict[str, dict[Any, Any]]
"""What is said beside the columns of a page of rows: by name, then by key of the row."""


class NounViewSet(GenericViewSet[Any]):
    """A noun of the record.

    A subclass names its `serializer_class`, `filters`, `orderings` and rows; `beside` reads, once
    a page, what the rows don't hold themselves.
    """

    filters: ClassVar[type[NounFilters]]
    orderings: ClassVar[dict[str, str]] = {"id": "pk"}
    order_signs: ClassVar[tuple[str, ...]] = ("", "-")
    filter_backends = (Filtering, Ordering)
    pagination_class = Pages
    lookup_value_converter = "int"
    has_past = True
    """Whether its past can be asked for with `as_of`."""
    has_history = True
    """Whether what became of one of them can be asked for by its id."""

    def beside(self, rows: Sequence[Any]) -> Beside:
        """Return what is said beside the columns of these rows."""
        return {}

    def list(self, request: Request) -> Response:
        with as_asked(request):
            rows = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
            return self.get_paginated_response(self.told(rows or ()))

    def retrieve(self, request: Request, pk: Any) -> Response:
        checked_query(ReadShape if self.has_past else Shape, request.query_params)
        with as_asked(request):
            rows: QuerySet[Any] = self.get_queryset()
            thing = self.found(rows, pk)
            if thing is None:
                raise no_such(rows.model, pk)
            return Response(self.told([thing])[0])

    def found(self, rows: QuerySet[Any], pk: Any) -> Any:
        """Return the row with this id, or None."""
        return rows.filter(pk=pk).first()

    def told(self, rows: Sequence[Any]) -> Any:
        """Return the rows as they are sent."""
        context = {**self.get_serializer_context(), "beside": self.beside(rows)}
        return self.get_serializer_class()(rows, many=True, context=context).data


def no_such(model: type[Model], pk: str | int) -> Missing:
    """Return the refusal for a thing that is not there."""
    return Missing(
        f"There is no {model._meta.verbose_name} number {pk}.",
        hint="It may have been removed; find it again.",
    )


class Aside(serializers.Field[Any, Any, Any, Any]):
    """A value said beside a row: looked up in `beside` by a column of the row."""

    def __init__(self, name: str, key: str, **options: Any) -> None:
        """Take the value named `name`, found by the row's `key`."""
        super().__init__(read_only=True, source="*", **options)
        self.name_beside = name
        self.key = key

    def to_representation(self, value: Any) -> Any:
        return self.context["beside"][self.name_beside].get(getattr(value, self.key))


@extend_schema_field({"type": "string"})
class WordsAside(Aside):
    """Words said beside a row; empty where there is nothing to say."""

    def to_representation(self, value: Any) -> str:
        return super().to_representation(value) or ""


@extend_schema_field({"type": "integer", "format": "int64", "nullable": True})
class IdAside(Aside):
    """The id of a thing beside a row, or null."""
