"""The neutral sheets of a place: what is patched in its cupboards now, by numbers only."""

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.views import APIView

from api.questions import thing
from api.shapes import Shape, checked_query
from labels.choices import is_too_large
from labels.neutral_sheet import neutral_sheets
from labels.patching import WORDS, cupboards_in
from records.changes.refusals import Malformed
from records.models import Place
from records.queries.names import address


class NeutralSheetsView(APIView):
    """The neutral sheets of a place."""

    @extend_schema(
        responses={(200, "application/pdf"): OpenApiTypes.BINARY}, tags=["places", "labels"]
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        """Return a PDF with a sheet for each cupboard of a place and all inside it."""
        checked_query(Shape, request.query_params)
        place = thing(Place.objects.all(), pk)
        if is_too_large(place):
            raise Malformed(
                f"{address(place)} holds more cupboards than one file.",
                hint="Ask for its parts one after the other.",
            )
        sheets = neutral_sheets(cupboards_in(place), f"{timezone.now():%Y-%m-%d}", WORDS)
        disposition = f'inline; filename="patching-in-{place.pk}.pdf"'
        return HttpResponse(
            sheets.content, "application/pdf", headers={"Content-Disposition": disposition}
        )
