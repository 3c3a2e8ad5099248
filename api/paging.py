"""Paging: a list comes in pages whose cost does not grow with the record.

Counting and skipping cost in proportion to what is counted and skipped, so both end at
COUNTED_MAX. A client that wants all of a longer list walks it with `?after=<the last id>`.
"""

from collections.abc import Sequence
from typing import Any

from django.core.paginator import Paginator
from django.utils.functional import cached_property
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.response import Response

from api.described import parameter
from api.faults import WrongValue, WrongValuesError, echoed

COUNTED_MAX = 10_000
PAGE_SIZE = 50
PAGE_SIZE_MAX = 500


class BoundedPaginator(Paginator):  # type: ignore[type-arg] # not generic at run time
    """Pages of a list of which at most COUNTED_MAX rows are counted."""

    @cached_property
    def matched(self) -> int:
        """Return the number of rows; COUNTED_MAX + 1 where there are more."""
        rows: Any = self.object_list
        return int(rows.order_by()[: COUNTED_MAX + 1].count())

    @cached_property
    def count(self) -> int:
        """Return the number of rows that can be paged through."""
        return min(self.matched, COUNTED_MAX)


class Pages(PageNumberPagination):
    """Pages by number. A page that is not there is refused and says how many there are."""

    page_size_query_param = "page_size"

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """Return the rows of the page asked for. Raises: WrongValuesError."""
        self.request = request
        size = _whole(request, "page_size", PAGE_SIZE, PAGE_SIZE_MAX)
        pages = BoundedPaginator(queryset, size)
        self.page = pages.page(_whole(request, "page", 1, pages.num_pages))
        self.pages = pages
        return list(self.page)

    def get_paginated_response(self, data: Sequence[Any]) -> Response:
        """Return a page with its neighbours and the length of the list."""
        return Response(
            {
                "count": self.pages.count,
                "count_is_exact": self.pages.matched == self.pages.count,
                "next": self.get_next_link(),
                "previous": self.get_previous_link(),
                "results": data,
            }
        )

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """Describe both names for the schema."""
        whole = {"type": "integer", "minimum": 1}
        return [
            parameter("page", whole, f"The page. Only the first {COUNTED_MAX} rows are paged."),
            parameter(
                "page_size",
                {**whole, "maximum": PAGE_SIZE_MAX, "default": PAGE_SIZE},
                "How many rows a page has.",
            ),
        ]

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Describe a page for the schema."""
        link = {"type": "string", "format": "uri", "nullable": True}
        return {
            "type": "object",
            "required": ["count", "count_is_exact", "next", "previous", "results"],
            "properties": {
                "count": {
                    "type": "integer",
                    "maximum": COUNTED_MAX,
                    "description": "How many things match, counted up to the maximum.",
                },
                "count_is_exact": {
                    "type": "boolean",
                    "description": "False: more match. Walk the list with 'after'.",
                },
                "next": link,
                "previous": link,
                "results": schema,
            },
        }


def _whole(request: Request, name: str, default: int, most: int) -> int:
    text = request.query_params.get(name)
    if text is None:
        return default
    is_number = text.isascii() and text.isdecimal() and len(text) <= len(str(most))
    if not is_number or not 1 <= int(text) <= most:
        wrong = WrongValue(
            name, echoed(text), f"There is no such {name}.", f"a whole number from 1 to {most}"
        )
        raise WrongValuesError([wrong], in_query=True)
    return int(text)
