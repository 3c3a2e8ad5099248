"""The explanation of a level, term by term, and the pictures of a path."""

from collections.abc import Iterator
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.light import MarginsSerializer, VerdictSerializer
from api.quantities import Decibels, Levels, Losses
from api.questions import QuestionView, question, thing
from api.shapes import Id, checked_query
from api.standing import ReadShape, as_asked
from records.changes.refusals import Malformed
from records.handover import distance_picture, path_picture
from records.handover.standing_alone import alone
from records.models import Direction, Point
from records.queries.cases import Case
from records.queries.citations import Citation, CitedFigure, Confirmed
from records.queries.explain import Explanation, Launch, Term, explain_path
from records.queries.measurements import Measurement
from records.queries.paths import Path, paths
from records.queries.readings import latest_readings


class ConfirmedSerializer(serializers.Serializer[Confirmed]):
    """A person's word that a row says what an edition says, in which table."""

    confirmation = serializers.IntegerField(source="confirmation_id")
    edition = serializers.CharField()
    table = serializers.CharField()
    by = serializers.CharField()
    change = serializers.IntegerField(source="change_number")


class CitationSerializer(serializers.Serializer[Citation]):
    """Where a figure comes from, its mark, and who confirmed it, if anyone did.

    `is_unconfirmed`: it stands on memory alone.
    """

    source = serializers.CharField()  # type: ignore[assignment] # fields are taken off the class
    url = serializers.CharField()
    confidence = serializers.CharField()
    note = serializers.CharField()
    confirmed = ConfirmedSerializer(allow_null=True)
    is_unconfirmed = serializers.BooleanField()


class CitedFigureSerializer(serializers.Serializer[CitedFigure]):
    """One bound of an entry's loss over a band; `value_db` of a fibre is dB a kilometre."""

    id = serializers.IntegerField(source="figure_id")
    entry = serializers.IntegerField(source="entry_id")
    branch = serializers.IntegerField(allow_null=True)
    bound = serializers.CharField()
    value_db = Decibels()
    wavelength_min_nm = serializers.IntegerField()
    wavelength_max_nm = serializers.IntegerField()
    citation = CitationSerializer()


class MeasurementSerializer(serializers.Serializer[Measurement]):
    """The change that gave a measured value: its number, when, by whom and why."""

    change = serializers.IntegerField(source="change_number")
    at = serializers.DateTimeField()
    by = serializers.CharField()
    reason = serializers.CharField()


class LaunchSerializer(serializers.Serializer[Launch]):
    """Where light starts, the class's standard for it, and who measured it if anyone did."""

    level_dbm = Levels(source="level")
    standard = serializers.CharField()
    citation = CitationSerializer()
    measured = MeasurementSerializer(allow_null=True)


class TermSerializer(serializers.Serializer[Term]):
    """One loss on the way, the point it leads to, and the level there.

    `figures` are the catalogue's, none where it was `measured`; a fibre's are over `length_m`.
    `note` says why a term counts nothing.
    """

    point = serializers.IntegerField(source="spot.point_id")
    point_label = serializers.CharField(source="spot.label")
    owner = serializers.CharField(source="spot.owner")
    by = serializers.CharField()
    by_kind = serializers.CharField()
    length_m = serializers.FloatField()
    loss_db = Losses(source="loss")
    level_dbm = Levels(source="level")
    figures = CitedFigureSerializer(many=True)
    measured = MeasurementSerializer(allow_null=True)
    length_measured = MeasurementSerializer(allow_null=True)
    note = serializers.CharField()
    is_unconfirmed = serializers.BooleanField()


class CaseSerializer(serializers.Serializer[Case]):
    """One way to add up the same path: best, typical, statistical or worst."""

    name = serializers.CharField()
    loss_db = Decibels()
    level_dbm = Decibels()
    margin_db = Decibels()


class ExplanationSerializer(serializers.Serializer[Explanation]):
    """A level at a receiver, as its launch and its terms in the order light meets them.

    Down ends at the point, up at the OLT. Margins and verdicts are that receiver's. The
    statistical case is of `method` with `k` sigmas, of which `share_within` of all paths stay
    within. `agrees`: the sum is what the record stores.
    """

    channel = serializers.IntegerField(source="lit.channel_id")
    channel_name = serializers.CharField(source="lit.name")
    direction = serializers.CharField()
    wavelength_nm = serializers.IntegerField()
    launch = LaunchSerializer()
    terms = TermSerializer(many=True)
    loss_db = Losses(source="loss")
    level_dbm = Levels(source="level")
    needed_dbm = Decibels()
    cases = CaseSerializer(many=True)
    method = serializers.CharField()
    k = serializers.FloatField()
    share_within = serializers.FloatField()
    margins = serializers.SerializerMethodField()
    verdicts = serializers.SerializerMethodField()
    agrees = serializers.BooleanField()

    @extend_schema_field(MarginsSerializer)
    def get_margins(self, told: Explanation) -> Any:
        """Return what the receiver has left before each limit."""
        margins = told.lit.down_margins if _is_down(told) else told.lit.up_margins
        return MarginsSerializer(margins).data

    @extend_schema_field(VerdictSerializer(many=True))
    def get_verdicts(self, told: Explanation) -> Any:
        """Return what is wrong at the receiver; nothing if all is well."""
        verdicts: Any = told.lit.down_verdicts if _is_down(told) else told.lit.up_verdicts
        return VerdictSerializer(verdicts, many=True).data


def _is_down(told: Explanation) -> bool:
    return told.direction == Direction.DOWN


class ExplanationShape(ReadShape):
    """Of which channel and direction."""

    channel = Id(required=False, help_text="Only this channel.")
    direction = serializers.ChoiceField(
        Direction.choices, required=False, help_text="down: at the point; up: at the OLT."
    )


@question
class ExplanationView(QuestionView):
    """How the levels of a point come about: launch, each loss with its source, the sums.

    Of each channel that comes here, down to the point and up to the OLT; none where it is dark.
    """

    shape = ExplanationShape
    told_by = ExplanationSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        point = thing(Point.objects.all(), named["pk"])
        ways = [asked["direction"]] if "direction" in asked else Direction.values
        return [
            explain_path(path, way)
            for path in _wanted(point.pk, asked.get("channel"))
            for way in ways
        ]


def _wanted(point_id: int, channel: int | None) -> Iterator[Path]:
    for path in paths(point_id):
        if channel in {None, path.lit.channel_id}:
            yield path


DRAWN = {"hops": path_picture.drawn, "distance": distance_picture.drawn}
"""The pictures of a path by name: the level at each hop, or against the metres of fibre."""


class PictureShape(ReadShape):
    """Which picture."""

    channel = Id(required=False, help_text="The channel; without it, the first that comes here.")
    along = serializers.ChoiceField(
        sorted(DRAWN), required=False, help_text="Hop by hop (usual), or against distance."
    )


class SvgRenderer(BaseRenderer):
    """A picture as it is."""

    media_type = "image/svg+xml"
    format = "svg"
    charset = "utf-8"

    def render(self, data: Any, *_args: Any, **_options: Any) -> bytes:
        return str(data).encode()


@extend_schema_view(
    get=extend_schema(
        parameters=[PictureShape],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        description="The picture of a path: level, receiver's window hatched, readings as marks.",
        tags=["questions"],
    )
)
class PictureView(APIView):
    """The picture of a path, as an SVG file that needs nothing beside it."""

    renderer_classes = (SvgRenderer,)

    def get(self, request: Request, pk: int) -> Response:
        asked = checked_query(PictureShape, request.query_params)
        with as_asked(request):
            point = thing(Point.objects.all(), pk)
            path = next(_wanted(point.pk, asked.get("channel")), None)
            if path is None:
                raise Malformed(
                    "No such light comes to this point.",
                    hint="Ask for its path: it names the channels that come here.",
                    field="channel",
                )
            read = latest_readings(hop.spot.point_id for hop in path.hops)
            draw = DRAWN[asked.get("along", "hops")]
            return Response(alone(draw(path, path_picture.of_channel(path, read))))
