"""What the readings of a tree say: the elements that may explain them, and what to check."""

from typing import Any

from rest_framework import serializers

from api.quantities import Decibels, FromThousandths
from api.questions import QuestionView, question, thing
from api.readings import VerdictOnReadingSerializer
from api.standing import ReadShape
from records.changes.refusals import Malformed
from records.light.faults import AtWavelength
from records.models import Cable, Channel, Equipment, Place, Point
from records.optics import bends
from records.queries.causes import Cause, Causes, Suspect, Witness, causes
from records.queries.contents import is_large
from records.queries.trees_through import Tree, trees_through


class TreeSerializer(serializers.Serializer[Tree]):
    """A tree: its channel, and the PON port it hangs from."""

    channel = serializers.IntegerField(source="channel_id")
    channel_name = serializers.CharField(source="channel")
    port = serializers.IntegerField(source="port_id")
    port_name = serializers.CharField(source="port")


class SuspectSerializer(serializers.Serializer[Suspect]):
    """An element that may be at fault, and what to check on it, in a sentence."""

    kind = serializers.CharField()
    name = serializers.CharField()
    point = serializers.IntegerField(source="point_id")
    check = serializers.CharField()


class WitnessSerializer(serializers.Serializer[Witness]):
    """A reading that says something about a candidate; `level_dbm` null: no light was seen."""

    name = serializers.CharField()
    point = serializers.IntegerField(source="judged.reading.point_id")
    reading = serializers.IntegerField(source="judged.reading.pk")
    wavelength_nm = serializers.IntegerField(source="judged.reading.wavelength_nm")
    direction = serializers.CharField(source="judged.reading.direction")
    taken_at = serializers.DateTimeField(source="judged.reading.taken_at")
    level_dbm = FromThousandths("judged.reading.level_mdbm", allow_null=True)
    verdict = VerdictOnReadingSerializer(source="judged")


class AtWavelengthSerializer(serializers.Serializer[AtWavelength]):
    """By how much the readings below a candidate miss more than the rest, at one wavelength."""

    wavelength_nm = serializers.IntegerField()
    extra_db = Decibels()


class CauseSerializer(serializers.Serializer[Cause]):
    """A possible fault with its suspects, the one to check first in front, and its evidence.

    `extra_db` is what it costs at the longest wavelength read, null for a break. `clears` are good
    readings right beside; `unexplained` are low or dark ones elsewhere.
    """

    kind = serializers.CharField()
    chance = serializers.FloatField()
    extra_db = Decibels(allow_null=True)
    extra_sigma_db = Decibels(allow_null=True)
    suspects = SuspectSerializer(many=True)
    says_so = WitnessSerializer(many=True)
    contradicts = WitnessSerializer(many=True)
    clears = WitnessSerializer(many=True)
    unexplained = WitnessSerializer(many=True)
    by_wavelength = AtWavelengthSerializer(many=True)
    wavelength_hint = serializers.CharField()


class CausesSerializer(serializers.Serializer[Causes]):
    """What may explain the readings of a tree, by kind of fault, likeliest first.

    `read` counts the readings weighed, `outdated` those left out because the way of their light
    was worked on since. `further` are causes beside the likeliest. `older_good` counts the good
    readings beside the low ones that are from days before `newest_low_at`: where the fault is
    newer, ask again with `since`. `wavelength_source` is where it is published that a bend loses
    more at the longer wavelength.
    """

    channel = serializers.IntegerField(source="channel_id")
    read = serializers.IntegerField()
    outdated = serializers.IntegerField()
    newest_low_at = serializers.DateTimeField(allow_null=True)
    older_good = serializers.IntegerField()
    check_first = CauseSerializer(many=True)
    steps = CauseSerializer(many=True)
    fibres = CauseSerializer(many=True)
    dead = CauseSerializer(many=True)
    further = CauseSerializer(many=True)
    wavelength_source = serializers.SerializerMethodField()

    def get_wavelength_source(self, _causes: Causes) -> str:
        """Return the published source of what wavelengths tell."""
        return bends.SOURCE


class CausesShape(ReadShape):
    """Which readings."""

    since = serializers.DateTimeField(
        required=False, help_text="Only readings taken at this time or later."
    )


@question
class CausesView(QuestionView):
    """Which element explains the readings taken on a channel's tree, with the evidence.

    The candidates come apart by kind: a step at one joint, a lossy fibre, a dead leg.
    """

    shape = CausesShape
    told_by = CausesSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        channel = thing(Channel.objects.all(), named["pk"])
        return causes(channel.pk, since=asked.get("since"))


@question
class PointTreesView(QuestionView):
    """The trees whose light comes to a point."""

    told_by = TreeSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        return trees_through(thing(Point.objects.all(), named["pk"]))


@question
class EquipmentTreesView(QuestionView):
    """The trees whose light passes an equipment."""

    told_by = TreeSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        return trees_through(thing(Equipment.objects.all(), named["pk"]))


@question
class CableTreesView(QuestionView):
    """The trees whose light passes a cable."""

    told_by = TreeSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        return trees_through(thing(Cable.objects.all(), named["pk"]))


@question
class PlaceTreesView(QuestionView):
    """The trees whose light comes to anything in a place or inside it."""

    told_by = TreeSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        place = thing(Place.objects.all(), named["pk"])
        if is_large(place):
            raise Malformed(
                f"{place} is too large to look through at once.",
                hint="Ask for one of its buildings.",
            )
        return trees_through(place)
