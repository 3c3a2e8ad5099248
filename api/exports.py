"""The files in which a place is handed over: which there are, what each leaves out, and each."""

import logging
from typing import Any

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.views import APIView

from api.questions import QuestionView, question, thing
from api.shapes import checked_query
from api.standing import ReadShape, as_asked
from records.handover.exports import files
from records.handover.exports.files import EXPORTS, Document
from records.handover.exports.left_out import LeftOut
from records.models import Place

_log = logging.getLogger(__name__)


class ExportSerializer(serializers.Serializer[Any]):
    """A kind of file, what it is for, and where its contents are told."""

    what = serializers.CharField()
    title = serializers.CharField()
    means = serializers.CharField()
    url = serializers.CharField()


@question
class ExportsView(QuestionView):
    """The kinds of files in which a place is handed over."""

    told_by = ExportSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        place = thing(Place.objects.all(), named["pk"])
        return [
            {
                "what": each.what,
                "title": each.title,
                "means": each.means,
                "url": reverse("api:place-export", args=[place.pk, each.what]),
            }
            for each in EXPORTS
        ]


class ExportShape(ReadShape):
    """In which form."""

    addresses = serializers.ChoiceField(
        ["true", "false"],
        required=False,
        help_text="true: for the owner's own copy. Usually homes go by their lines.",
    )


class LeftOutSerializer(serializers.Serializer[LeftOut]):
    """Things of one kind that a file does not say, each by name."""

    what = serializers.CharField()
    names = serializers.ListField(child=serializers.CharField())


class DocumentSerializer(serializers.Serializer[Document]):
    """What a file holds and what it leaves out.

    `never` is what no file of its kind says, `assumed` the types to name when a sheet of flats is
    taken in, by the names that `places/sheet/` and `manage.py intake` give them.
    """

    file_name = serializers.CharField()
    columns = serializers.ListField(child=serializers.CharField(), source="table.columns")
    rows = serializers.SerializerMethodField()
    left_out = LeftOutSerializer(many=True)
    never = serializers.ListField(child=serializers.CharField())
    assumed = serializers.DictField(allow_null=True)

    def get_rows(self, document: Document) -> int:
        """Return how many rows stand below the header."""
        return len(document.table.rows)


@question
class ExportView(QuestionView):
    """What a file of a place holds, and what it leaves out, by name. The file is at `file/`."""

    shape = ExportShape
    told_by = DocumentSerializer

    def answer(self, asked: dict[str, Any], **named: Any) -> Any:
        return _document(asked, named["pk"], named["what"])


class ExportFileView(APIView):
    """A file of a place."""

    @extend_schema(
        parameters=[ExportShape],
        responses={(200, "text/csv"): OpenApiTypes.STR},
        tags=["questions"],
    )
    def get(self, request: Request, pk: int, what: str) -> HttpResponse:
        """Return a file: CSV in UTF-8 with a byte order mark, figures with units in its header.

        A cell that a spreadsheet program would run as a formula begins with an apostrophe.
        """
        asked = checked_query(ExportShape, request.query_params)
        with as_asked(request):
            document = _document(asked, pk, what)
        if asked.get("addresses") == "true":
            _log.warning("%s took the addresses of place %s", request.user.pk, pk)
        disposition = f'attachment; filename="{document.file_name}"'
        return HttpResponse(
            document.csv(),
            "text/csv; charset=utf-8",
            headers={"Content-Disposition": disposition},
        )


def _document(asked: dict[str, Any], place_id: int, what: str) -> Document:
    place = thing(Place.objects.all(), place_id)
    return files.export(place, what, has_addresses=asked.get("addresses") == "true")
