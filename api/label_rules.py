"""What the owner settles for labels, the stock there is, and how the labels of a place stand."""

from dataclasses import asdict
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.idempotency import IDEMPOTENCY_KEY, Claim, claimed, key_of
from api.nouns import no_such
from api.prints import OwnStockSerializer
from api.shapes import Number, Shape, Text, VerbShape, checked, checked_query
from labels import owner, seeds, shelf
from labels.choices import is_too_large, place_items
from labels.coverage import counted, coverage
from labels.own_sign import LEAST_PX, MOST_PX
from labels.standing import State, left_behind, standings
from records import changes
from records.changes.refusals import Malformed
from records.models import CautionSign, LabelRules, Pictogram, Place, StockShape
from records.models.tag_code import grouped
from records.queries.names import address


class LabelRulesSerializer(serializers.ModelSerializer[LabelRules]):
    """The rules for all labels. `link` is an example of what a QR holds."""

    link = serializers.SerializerMethodField()
    pictogram = serializers.SerializerMethodField(
        help_text="In place of the country's; empty where that serves."
    )
    picture = serializers.SerializerMethodField(help_text="A PNG in base64; empty without one.")

    class Meta:
        model = LabelRules
        fields = (
            "host",
            "link",
            "has_upper_case_link",
            "has_upper_case_text",
            "requires_qr",
            "smallest_module_mm",
            "language",
            "signal",
            "words",
            "pictogram",
            "picture",
        )
        read_only_fields = fields

    def get_link(self, rules: LabelRules) -> str:
        """Return a link by these rules."""
        return owner.sample_link(rules)

    def get_pictogram(self, _rules: LabelRules) -> str:
        """Return the pictogram that replaces the country's."""
        return owner.sign().pictogram

    def get_picture(self, _rules: LabelRules) -> str:
        """Return the picture of a pictogram of one's own."""
        return owner.sign().picture


class SettleRules(VerbShape):
    """The rules for all labels, all of them anew."""

    example: ClassVar = {"host": "LABELS.EXAMPLE", "smallest_module_mm": 0.35, "language": "en-AU"}

    host = Text(help_text="Where QR codes lead.")
    smallest_module_mm = Number(help_text="Smallest module of a QR.")
    language = serializers.ChoiceField(
        [(tag, said.country) for tag, said in seeds.caution_words().items()],
        help_text="Tag of language and country, for pictogram and words of cautions.",
    )
    has_upper_case_link = serializers.BooleanField(required=False)
    has_upper_case_text = serializers.BooleanField(required=False)
    requires_qr = serializers.BooleanField(required=False)
    signal = Text(required=False, help_text="Signal word of your own.")
    words = Text(required=False, help_text="Words of caution of your own.")
    pictogram = serializers.ChoiceField(
        Pictogram.choices,
        required=False,
        allow_blank=True,
        help_text="In place of the country's; empty where that serves.",
    )
    picture = Text(
        required=False,
        help_text=(
            f"Of the pictogram `own`: a PNG of {LEAST_PX} to {MOST_PX} pixels a side, black, "
            "yellow and white, in base64."
        ),
    )


class LabelRulesView(APIView):
    """The rules for all labels."""

    @extend_schema(responses=LabelRulesSerializer, tags=["label-rules"])
    def get(self, request: Request) -> Response:
        """Return the rules that hold."""
        checked_query(Shape, request.query_params)
        return Response(LabelRulesSerializer(owner.rules()).data)

    @extend_schema(
        request=SettleRules,
        responses=LabelRulesSerializer,
        tags=["label-rules"],
        examples=[OpenApiExample("As an owner sends it", SettleRules.example, request_only=True)],
    )
    def put(self, request: Request) -> Response:
        """Settle the rules, once it is known that their links fit a QR that labels can carry."""
        checked_query(Shape, request.query_params)
        asked = checked(SettleRules, request.data)
        reason = asked.pop("reason", "")
        own = CautionSign(**{name: asked.pop(name, "") for name in ("pictogram", "picture")})
        wanted = LabelRules(**asked)
        actor: Any = request.user
        with changes.opened(actor=actor, reason=reason, at=timezone.now()) as change:
            settled = owner.settle(change, wanted, own)
        return Response(LabelRulesSerializer(settled).data)


class DescribeStock(VerbShape):
    """Stock of one's own, described in millimetres."""

    example: ClassVar = {
        "name": "two wide",
        "shape": "tape",
        "measures": {"media_mm": 18, "label_width_mm": 60, "label_height_mm": 15, "dpi": 300},
    }

    name = Text(help_text="As written on the packet.")
    shape = serializers.ChoiceField(StockShape.choices)
    measures = serializers.DictField(
        child=Number(),
        help_text=(
            "Of a sheet: page, margin, pitch and label by their names, columns and rows; of a "
            "roll: media_mm, label_width_mm, label_height_mm, dpi."
        ),
    )


class LabelStockView(APIView):
    """The stock there is to print on."""

    @extend_schema(responses=OpenApiTypes.OBJECT, tags=["label-stock"])
    def get(self, request: Request) -> Response:
        """Return all stock by its id, in millimetres: the usual kinds, then the owner's own."""
        checked_query(Shape, request.query_params)
        return Response({name: asdict(each) for name, each in shelf.stocks().items()})

    @extend_schema(
        parameters=[IDEMPOTENCY_KEY],
        request=DescribeStock,
        responses={201: OwnStockSerializer},
        tags=["label-stock"],
        examples=[OpenApiExample("As a crew sends it", DescribeStock.example, request_only=True)],
    )
    def post(self, request: Request) -> Response:
        """Describe stock; what runs off its page or can't be printed is refused."""
        checked_query(Shape, request.query_params)
        key = key_of(request)
        asked = checked(DescribeStock, request.data)
        with claimed(request, key, timezone.now()) as claim:
            answer = claim.answer or self._described(request, asked, claim)
        return Response(answer, status=201)

    def _described(self, request: Request, asked: dict[str, Any], claim: Claim) -> dict[str, Any]:
        reason = asked.get("reason", "")
        actor: Any = request.user
        with changes.opened(actor=actor, reason=reason, at=timezone.now()) as change:
            stock = shelf.describe(change, asked["name"], asked["shape"], asked["measures"])
            answer = dict(OwnStockSerializer(stock).data)
            claim.keep(answer)
        return answer


class StandingShape(Shape):
    """Which labels are listed."""

    state = serializers.ChoiceField(
        [state.value for state in State], required=False, help_text="Only those that stand so."
    )
    seen = serializers.ChoiceField(
        ["true", "false"], required=False, help_text="Only labels scanned since, or never."
    )


class CoverageSerializer(serializers.Serializer[Any]):
    """How many things of a place have a label, and how many labels were seen."""

    things = serializers.IntegerField()
    labelled = serializers.IntegerField()
    stale = serializers.IntegerField(help_text="Say what is no longer so.")
    missing = serializers.IntegerField()
    unrecorded = serializers.IntegerField(help_text="Have a tag, but no print is recorded.")
    ports = serializers.IntegerField()
    ports_without = serializers.IntegerField()
    coded = serializers.IntegerField()
    never_seen = serializers.IntegerField()


class LabelStandingSerializer(serializers.Serializer[Any]):
    """How one label stands. `key` names it where labels are printed."""

    key = serializers.CharField(source="item.key")
    name = serializers.CharField(source="item.name")
    address = serializers.CharField(source="item.where")
    noun = serializers.CharField(source="item.noun")
    thing = serializers.IntegerField(source="item.thing_id")
    code = serializers.SerializerMethodField()
    state = serializers.CharField()
    why = serializers.ListField(child=serializers.CharField())
    seen_at = serializers.DateTimeField(allow_null=True)

    def get_code(self, standing: Any) -> str:
        """Return the code that hangs on it; empty where there is none."""
        return grouped(standing.item.code) if standing.item.code else ""


class LeftBehindSerializer(serializers.Serializer[Any]):
    """A label to take off: what it was printed for is gone."""

    id = serializers.IntegerField(source="pk")
    kind = serializers.CharField()
    run = serializers.IntegerField(source="run_id")


class PlaceLabelsSerializer(serializers.Serializer[Any]):
    """The labels of a place: how many, how each stands, and which to take off."""

    coverage = CoverageSerializer()
    labels = LabelStandingSerializer(many=True)
    left_behind = LeftBehindSerializer(many=True)


class PlaceLabelsView(APIView):
    """The labels of a place."""

    @extend_schema(
        parameters=[StandingShape], responses=PlaceLabelsSerializer, tags=["places", "labels"]
    )
    def get(self, request: Request, pk: int) -> Response:
        """Return how the labels of a place and all inside it stand, in the order of a walk."""
        asked = checked_query(StandingShape, request.query_params)
        place = Place.objects.filter(pk=pk).first()
        if place is None:
            raise no_such(Place, pk)
        if is_too_large(place):
            raise Malformed(
                f"{address(place)} holds more labels than one answer.",
                hint="Ask for its parts one after the other.",
            )
        items = place_items(place)
        found = counted(standings(items))
        state, seen = asked.get("state"), asked.get("seen")
        listed = [
            each
            for each in found
            if (state is None or each.state == state)
            and (seen is None or (seen == "true") == (each.seen_at is not None))
            and (seen is None or each.item.code)
        ]
        answer = {
            "coverage": coverage(found),
            "labels": listed,
            "left_behind": left_behind(place, items),
        }
        return Response(PlaceLabelsSerializer(answer).data)
