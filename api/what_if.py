"""What if: the same homes under another class, splitter or attenuator; nothing is recorded."""

import re
from collections.abc import Sequence
from typing import Any, NamedTuple

from rest_framework import serializers

from api.light import LitSerializer, VerdictSerializer
from api.quantities import Decibels
from api.questions import QuestionView, question, thing
from api.shapes import Id
from api.standing import ReadShape
from records.changes.refusals import Malformed
from records.models import Equipment, Place
from records.queries.contents import is_large
from records.queries.homes_in_parts import AT_ONCE, Part, part_of
from records.queries.receivers import Receiver, receivers_below, receivers_in
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


class PartSerializer(serializers.Serializer[Part]):
    """Which part of the homes this is, by address, and the first and last of its homes."""

    number = serializers.IntegerField()
    parts = serializers.IntegerField()
    first_home = serializers.IntegerField(source="first")
    last_home = serializers.IntegerField(source="latest")
    all_homes = serializers.IntegerField()


class PartAnswer(NamedTuple):
    """What would be in one part of the homes asked about."""

    answer: WhatIf
    part: Part


class WhatIfSerializer(serializers.Serializer[PartAnswer]):
    """The homes that would fail, the worst first; then all of them, and the PON ports.

    An entry is one channel at one home; `home_count` and `failing_home_count` count each home
    once. Of many homes one `part` is told at a time.
    """

    part = PartSerializer()
    home_count = serializers.IntegerField(source="answer.home_count")
    failing_home_count = serializers.IntegerField(source="answer.failing_home_count")
    failing = OutlookSerializer(source="answer.failing", many=True)
    homes = OutlookSerializer(source="answer.outlooks", many=True)
    ports = SupposedPortSerializer(source="answer.ports", many=True)


class SupposeShape(ReadShape):
    """Another class, an attenuator; what is left out stays as it is."""

    optical_class = Id(required=False, help_text="The technology and class supposed.")
    instead_of = Id(required=False, help_text="Only for channels that are of this class now.")
    attenuator = Id(required=False, help_text="A catalogue entry, before each home.")
    part = Id(
        required=False,
        help_text=f"Of more than {AT_ONCE:,} homes, which part by address, from 1. "
        "A number beyond the latest part asks for that one.",
    )


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
                f"{place} is too large to suppose at once.",
                hint=f"Ask for one of its places: /api/places/?parent={place.pk} lists them.",
            )
        pattern = [int(each) for each in re.findall(r"\d+", asked.get("pattern", ""))]
        return _answer(receivers_in(place), asked, _supposition(asked, pattern=pattern))


@question
class EquipmentWhatIfView(QuestionView):
    """Which homes below a splitter would fail under another class or another splitter."""

    shape = SupposeSplitterShape
    told_by = WhatIfSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        equipment = thing(Equipment.objects.all(), named["pk"])
        splitters = {equipment.pk: asked["splitter"]} if "splitter" in asked else {}
        supposing = _supposition(asked, splitters=splitters)
        return _answer(receivers_below(equipment), asked, supposing)


def _answer(
    receivers: Sequence[Receiver], asked: dict[str, Any], supposing: Supposition
) -> PartAnswer:
    part = part_of(receivers, asked.get("part", 1))
    return PartAnswer(what_if(part.receivers, supposing), part)


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
