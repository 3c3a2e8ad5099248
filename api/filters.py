"""Filters and ordering of lists. A name or value that is not known is refused, never ignored."""

from typing import Any, ClassVar

import django_filters
from django import forms
from django.db.models import QuerySet
from rest_framework.filters import BaseFilterBackend
from rest_framework.request import Request

from api.described import parameter
from api.faults import WrongValue, WrongValuesError, echoed
from api.shapes import ID_MAX, refuse_repeated, said
from api.standing import AS_OF, PARAMETER
from records.models import Place
from records.queries.legs import after_all_inside

PAGING = ("page", "page_size")
"""Names behind the '?' that belong to the paging of a list (see paging.py)."""


class IdFilter(django_filters.Filter):
    """The id of a thing."""

    field_class = forms.IntegerField
    allowed = "the id of a thing, a whole number"
    schema: ClassVar = {"type": "integer", "format": "int64", "minimum": 1}

    def __init__(self, *columns: str, **options: Any) -> None:
        """Name the column if the filter's own name isn't it."""
        super().__init__(*columns, min_value=1, max_value=ID_MAX, **options)


class WholeFilter(IdFilter):
    """A whole number, a count."""

    allowed = "a whole number"


class TextFilter(django_filters.CharFilter):
    """A part of a text, in upper or lower case."""

    allowed = "a text"
    schema: ClassVar = {"type": "string", "minLength": 1}

    def __init__(self, *columns: str, **options: Any) -> None:
        """Look for a part of the text unless another way is named."""
        super().__init__(*columns, **{"lookup_expr": "icontains", **options})


class KindFilter(django_filters.ChoiceFilter):
    """One of the words that a column can hold."""

    @property
    def allowed(self) -> str:
        """Return the words."""
        return f"one of {', '.join(repr(word) for word in self._words())}"

    @property
    def schema(self) -> dict[str, Any]:
        """Return the words as the schema has them."""
        return {"type": "string", "enum": self._words()}

    def _words(self) -> list[str]:
        return [str(word) for word, _label in self.extra["choices"]]


class YesNoFilter(KindFilter):
    """Whether a column is true, or with `isnull` and `exclude` whether something is there."""

    field_class = forms.TypedChoiceField

    def __init__(self, *columns: str, **options: Any) -> None:
        """Take true or false, in no other spelling."""
        choices = [("true", "true"), ("false", "false")]
        super().__init__(*columns, choices=choices, coerce="true".__eq__, **options)

    @property
    def schema(self) -> dict[str, Any]:
        """Return a truth value."""
        return {"type": "boolean"}


class GivenFilter(YesNoFilter):
    """Whether a text is given: an empty one means no. With `exclude` it asks the opposite."""

    def filter(self, qs: QuerySet[Any], value: bool | None) -> QuerySet[Any]:  # noqa: FBT001 (the framework's signature)
        """Limit to the rows with the text, or to those without."""
        if not isinstance(value, bool):
            return qs
        without = {self.field_name: ""}
        return qs.filter(**without) if value == self.exclude else qs.exclude(**without)


class TimeFilter(django_filters.IsoDateTimeFilter):
    """A moment."""

    allowed = "a time such as 2026-03-02T09:30:00Z"
    schema: ClassVar = {"type": "string", "format": "date-time"}


class InsideFilter(IdFilter):
    """A place: what is in it or in the places inside it. The column is a place's path."""

    def filter(self, qs: QuerySet[Any], value: int | None) -> QuerySet[Any]:
        """Limit to the paths from the place's own to the last one inside it."""
        if value is None:
            return qs
        place = Place.objects.filter(pk=value).first()
        if place is None:
            detail = f"There is no place number {value}."
            own_name = next(name for name, each in self.parent.filters.items() if each is self)
            raise WrongValuesError(
                [WrongValue(own_name, value, detail, "the id of a place")], in_query=True
            )
        first, after = f"{self.field_name}__gte", f"{self.field_name}__lt"
        return qs.filter(**{first: place.path, after: after_all_inside(place)})


class NounFilters(django_filters.FilterSet):
    """The filters of a list. `after` lets a client walk a list of any length, page by page."""

    after = IdFilter(
        "pk", lookup_expr="gt", help_text="Only things with a greater id, to walk a long list."
    )


class Filtering(BaseFilterBackend):
    """Limit a list to what the filters of its noun ask for."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> Any:
        """Apply the filters. Raises: WrongValuesError."""
        refuse_repeated(request.query_params)
        known = view.filters.base_filters
        others = (*PAGING, "ordering", *([AS_OF] if view.has_past else []))
        wrong = [
            WrongValue(
                echoed(name), echoed(value), "There is no such filter.", _one_of([*known, *others])
            )
            for name, value in request.query_params.items()
            if name not in known and name not in others
        ]
        wrong += [
            WrongValue(name, "", "It is empty.", f"{known[name].allowed}, or leave it out")
            for name in known
            if request.query_params.get(name) == ""
        ]
        asked = view.filters(request.query_params, queryset=queryset, request=request)
        for name, errors in asked.form.errors.as_data().items():
            value, allowed = echoed(request.query_params[name]), known[name].allowed
            detail = " ".join(
                said(error.code, allowed, otherwise=" ".join(error.messages)) for error in errors
            )
            wrong.append(WrongValue(name, value, detail, allowed))
        if wrong:
            raise WrongValuesError(wrong, in_query=True)
        return asked.qs

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """Describe each filter for the schema."""
        described = [
            parameter(name, each.schema, each.extra.get("help_text") or type(each).__doc__ or "")
            for name, each in view.filters.base_filters.items()
        ]
        return [*described, PARAMETER] if view.has_past else described


class Ordering(BaseFilterBackend):
    """Order a list by one of the names that its view knows; by id where they are equal."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> Any:
        """Apply the ordering asked for, else the first. Raises: WrongValuesError."""
        asked = request.query_params.get("ordering")
        choices = _orderings(view)
        if asked is None:
            asked = choices[0]
        if asked not in choices:
            detail = "The list can't be ordered by that."
            raise WrongValuesError(
                [WrongValue("ordering", echoed(asked), detail, _one_of(choices))], in_query=True
            )
        sign = "-" * asked.startswith("-")
        column = view.orderings[asked.removeprefix("-")]
        return queryset.order_by(f"{sign}{column}", f"{sign}pk")

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """Describe the orderings for the schema."""
        schema = {"type": "string", "enum": _orderings(view), "default": _orderings(view)[0]}
        return [parameter("ordering", schema, "The order of the list; '-' turns it round.")]


def _orderings(view: Any) -> list[str]:
    return [f"{sign}{name}" for name in view.orderings for sign in view.order_signs]


def _one_of(names: Any) -> str:
    return f"one of {', '.join(names)}"
