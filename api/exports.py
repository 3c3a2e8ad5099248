"""The files in which a place is handed over: which there are, what each leaves out, and each."""

from typing import Any

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.views import APIView

from api.handed_over import FormShape, file_answer, has_addresses, note_addresses
from api.questions import QuestionView, question, thing
from api.shapes import checked_query
from api.standing import as_asked
from records.handover.exports import files
from records.handover.exports.files import EXPORTS, Document
from records.handover.exports.left_out import LeftOut
from records.models import Place


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

    shape = FormShape
    told_by = DocumentSerializer

    def answer(self, asked: dict[str, Any], **named: Any) -> Any:
        place = thing(Place.objects.all(), named["pk"])
        return files.export(place, named["what"], has_addresses=has_addresses(asked))


class ExportFileView(APIView):
    """A file of a place."""

    @extend_schema(
        parameters=[FormShape],
        responses={(200, "text/csv"): OpenApiTypes.STR},
        tags=["questions"],
    )
    def get(self, request: Request, pk: int, what: str) -> HttpResponse:
        """Return a file: CSV in UTF-8 with a byte order mark, figures with units in its header.

        A cell that a spreadsheet program would run as a formula begins with an apostrophe.
        """
        asked = checked_query(FormShape, request.query_params)
        with as_asked(request):
            place = thing(Place.objects.all(), pk)
            document = files.export(place, what, has_addresses=has_addresses(asked))
        if has_addresses(asked):
            note_addresses(request, place)
        return file_answer(document.csv(), "text/csv; charset=utf-8", document.file_name)
