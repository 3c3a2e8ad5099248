"""The as-built pack of a place, as a PDF."""

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.views import APIView

from api.handed_over import FormShape, file_answer, has_addresses, note_addresses
from api.questions import thing
from api.shapes import Text, checked_query
from api.standing import as_asked, change_number
from records.handover.pack.document import as_built_pack
from records.handover.pack.told import Asked
from records.models import Place


class PackShape(FormShape):
    """In which form, and since which change deviations are listed."""

    since = Text(
        required=False, help_text="List the changes after this change, time or day (UTC)."
    )


class PackView(APIView):
    """The as-built pack of a place."""

    @extend_schema(
        parameters=[PackShape],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
        tags=["questions"],
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        """Return the pack: the same bytes for the same moment and form.

        With addresses its cover names who asked.
        """
        query = checked_query(PackShape, request.query_params)
        asked = Asked(
            has_addresses=has_addresses(query),
            asked_by=request.user.get_username(),
            since=change_number("since", query["since"]) if "since" in query else None,
        )
        with as_asked(request):
            place = thing(Place.objects.all(), pk)
            pack = as_built_pack(place, asked)
        if asked.has_addresses:
            note_addresses(request, place)
        return file_answer(pack.content, "application/pdf", pack.name)
