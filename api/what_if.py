"""What if: the same homes under another class, splitter or attenuator; nothing is recorded."""

import re
from typing import Any

from rest_framework import serializers

from api.light import LitSerializer, VerdictSerializer
from api.quantities import Decibels
from api.questions import QuestionView, question, thing
from api.shapes import Id
from api.standing import ReadShape
from records.changes.refusals import Malformed
from records.models import Equipment, Place
from records.queries.contents import is_large
from records.queries.receivers import receivers_below, receivers_in
from records.queries.what_if import Outlook, Port, Supposition, WhatIf, what_if

STAGES_MAX = 4


class OutlookSerializer(serializers.Serializer[Outlook]):
    """One channel at one home, now and as supposed; `why_dark` says why `then` is null.

    `short_by_db` is by how much it would fail at most; 0 where no level or loss is wrong.
    """

    point = serializers.IntegerField(source="receiver.point_id")
    name = serializers.CharField(source="receiver.name")
    place = serializers.IntegerField(source="receiver.place_id")
    address = serializers.CharField(source="receiver.address")
    now = LitSerializer()
    then = LitSerializer(allow_null=True)
    why_dark = serializers.CharField()
    fails = serializers.BooleanField()
    fails_now = serializers.BooleanField()
    short_by_db = Decibels(source="short_db")


class SupposedPortSerializer(serializers.Serializer[Port]):
    """A PON port's channel as supposed, and what would be wrong with its tree as a whole.

    `legs_short` is how many homes would be left without a leg.
    """

    channel = serializers.IntegerField(source="tree.channel_id")
    port = serializers.IntegerField(source="tree.port_id")
    split = serializers.IntegerField(source="tree.split")
    verdicts = VerdictSerializer(many=True)
    legs_short = serializers.IntegerField()


class WhatIfSerializer(serializers.Serializer[WhatIf]):
    """The homes that would fail, the worst first; then all of them, and the PON ports."""

    failing = OutlookSerializer(many=True)
    homes = OutlookSerializer(source="outlooks", many=True)
    ports = SupposedPortSerializer(many=True)


class SupposeShape(ReadShape):
    """Another class, an attenuator; what is left out stays as it is."""

    optical_class = Id(required=False, help_text="The technology and class supposed.")
    instead_of = Id(required=False, help_text="Only for channels that are of this class now.")
    attenuator = Id(required=False, help_text="A catalogue entry, before each home.")


class SupposePatternShape(SupposeShape):
    """The same with other splitters in a row, in place of all there are."""

    pattern = serializers.RegexField(
        rf"^\d{{1,18}}(,\d{{1,18}}){{0,{STAGES_MAX - 1}}}$",
        required=False,
        help_text="Catalogue entries of splitters, the first stage first, such as 3,5.",
    )


class SupposeSplitterShape(SupposeShape):
    """The same with another splitter in place of this one alone."""

    splitter = Id(required=False, help_text="The catalogue entry supposed in this splitter.")


@question
class PlaceWhatIfView(QuestionView):
    """Which homes in a place would fail under another class, technology or splitter pattern."""

    shape = SupposePatternShape
    told_by = WhatIfSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        place = thing(Place.objects.all(), named["pk"])
        if is_large(place):
            raise Malformed(
                f"{place} is too large to suppose at once.", hint="Ask for one of its buildings."
            )
        pattern = [int(each) for each in re.findall(r"\d+", asked.get("pattern", ""))]
        return what_if(receivers_in(place), _supposition(asked, pattern=pattern))


@question
class EquipmentWhatIfView(QuestionView):
    """Which homes below a splitter would fail under another class or another splitter."""

    shape = SupposeSplitterShape
    told_by = WhatIfSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        equipment = thing(Equipment.objects.all(), named["pk"])
        splitters = {equipment.pk: asked["splitter"]} if "splitter" in asked else {}
        return what_if(receivers_below(equipment), _supposition(asked, splitters=splitters))


_LISTED = {
    "optical_class": "/api/optical-classes/",
    "instead_of": "/api/optical-classes/",
    "attenuator": "/api/catalogue-entries/?kind=attenuator",
    "pattern": "/api/catalogue-entries/?kind=splitter",
    "splitter": "/api/catalogue-entries/?kind=splitter",
}


def _supposition(asked: dict[str, Any], **others: Any) -> Supposition:
    """Return what is supposed. Raises: Malformed."""
    wanted = Supposition(
        optical_class=asked.get("optical_class"),
        instead_of=asked.get("instead_of"),
        attenuator=asked.get("attenuator"),
        **others,
    )
    for fault in wanted.faults():
        raise Malformed(
            fault.message,
            hint=f"{fault.hint} {_LISTED[fault.field]} lists them.",
            field=fault.field,
        )
    return wanted
