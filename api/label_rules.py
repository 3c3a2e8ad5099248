"""What the owner settles for labels, the stock there is, and how the labels of a place stand."""

from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.shapes import Number, Shape, Text, VerbShape, checked, checked_query
from labels import owner, seeds
from labels.own_sign import LEAST_PX, MOST_PX
from records import changes
from records.models import CautionSign, LabelRules, Pictogram


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
