"""A PON port's tree as a whole: its nearest and furthest home, and the limits of its class."""

from typing import Any

from rest_framework import serializers

from api.explanations import CitationSerializer
from api.light import VerdictSerializer
from api.questions import QuestionView, question, thing
from records.models import Channel
from records.queries.pon_trees import NamedHome, ToldTree, told_trees


class TreeEndSerializer(serializers.Serializer[NamedHome]):
    """A home terminal at an end of the row: its port, and the fibre to it from the PON port."""

    point = serializers.IntegerField(source="home.point_id")
    name = serializers.CharField()
    fibre_m = serializers.FloatField(source="home.fibre_m")


class LimitsSerializer(serializers.Serializer[ToldTree]):
    """What the class allows a tree, null where it sets no limit, and where that stands."""

    reach_m = serializers.IntegerField(source="tree.optical_class.reach_m", allow_null=True)
    differential_reach_m = serializers.IntegerField(
        source="tree.optical_class.differential_reach_m", allow_null=True
    )
    split_max = serializers.IntegerField(source="tree.optical_class.split_max", allow_null=True)
    citation = CitationSerializer(source="limits")


class WholeTreeSerializer(serializers.Serializer[ToldTree]):
    """A channel's tree: how many home terminals, the ends of the row, and what breaks a limit.

    `apart_m` is how much more fibre the furthest home has than the nearest, held against the
    differential reach; `split` is how many ways the light of the most divided home is divided.
    The ends are null while no home terminal hangs from the port. A home that breaks a limit has
    the verdict among its own, too.
    """

    channel = serializers.IntegerField(source="tree.channel_id")
    channel_name = serializers.CharField(source="tree.name")
    port = serializers.IntegerField(source="tree.port_id")
    home_terminals = serializers.IntegerField(source="tree.terminals")
    nearest = TreeEndSerializer(allow_null=True)
    furthest = TreeEndSerializer(allow_null=True)
    apart_m = serializers.FloatField(source="tree.apart_m", allow_null=True)
    split = serializers.IntegerField(source="tree.split")
    limits = LimitsSerializer(source="*")
    verdicts = VerdictSerializer(source="tree.verdicts", many=True)


@question
class ChannelTreeView(QuestionView):
    """The tree of a channel as a whole: nearest and furthest home, and the class's limits."""

    told_by = WholeTreeSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        channel = thing(Channel.objects.all(), named["pk"])
        (told,) = told_trees([channel.pk])
        return told
