"""Light: the channels lit at PON ports, and the feeds they make at points."""

import re
from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django import forms
from django.db.models import Q, QuerySet
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter
from api.nouns import NounViewSet
from api.quantities import Decibels, FromThousandths, Levels, Losses
from api.shapes import Id, Number, VerbShape
from records.models import Channel, Feed, Role
from records.optics.verdicts import Margins, Verdict
from records.queries.levels import Lit, lit_at
from records.queries.names import short_name

FEED_ID = "[0-9]{1,18}-[0-9]{1,18}"
"""How a feed is identified: by its point and its channel."""


class ChannelSerializer(serializers.ModelSerializer[Channel]):
    """One technology and class lit by a PON port.

    `standby_for` is the channel it stands by for. `measured_launch_dbm` replaces the range of
    launch levels that its class allows.
    """

    port = serializers.IntegerField(source="point_id", read_only=True)
    port_name = serializers.SerializerMethodField()
    optical_class_name = serializers.CharField(source="optical_class.__str__", read_only=True)
    measured_launch_dbm = FromThousandths("launch_mdbm", allow_null=True)

    class Meta:
        model = Channel
        fields = (
            "id",
            "port",
            "port_name",
            "optical_class",
            "optical_class_name",
            "standby_for",
            "measured_launch_dbm",
        )
        read_only_fields = fields

    def get_port_name(self, channel: Channel) -> str:
        """Return what its port is called."""
        return short_name(channel.point)


class ChannelFilters(NounFilters):
    """How channels are found."""

    port = IdFilter("point")
    equipment = IdFilter("point__equipment", help_text="At a port of this OLT.")
    optical_class = IdFilter()
    system = TextFilter(
        "optical_class__system", lookup_expr="iexact", help_text="The technology, such as GPON."
    )


class ChannelViewSet(NounViewSet):
    """Channels: where light starts."""

    queryset = Channel.objects.select_related(
        "point__equipment", "point__passage__cable", "optical_class"
    )
    serializer_class = ChannelSerializer
    filters = ChannelFilters


class VerdictSerializer(serializers.Serializer[Verdict]):
    """One thing that is wrong: the figure found and the limit it breaks, both in `unit`."""

    fault = serializers.CharField()
    words = serializers.CharField()
    figure = Decibels()
    limit = Decibels()
    unit = serializers.CharField()


class MarginsSerializer(serializers.Serializer[Margins]):
    """What a receiver has left before each limit; below zero, the limit is broken."""

    above_needed_db = Decibels()
    below_overload_db = Decibels()
    below_loss_max_db = Decibels()
    above_loss_min_db = Decibels()


class LitSerializer(serializers.Serializer[Lit]):
    """The light of one channel at one point.

    `level_dbm` is the down level at the point, `up_level_dbm` what the OLT would receive from a
    home terminal here. Losses count from the PON port `port`; `leg` is the nearest splitter leg
    above the point or at it, `split` the product of the splits above, `fibre_m` the fibre from
    the port. Verdicts say what is wrong for a home terminal here and for the OLT; none if all is
    well. `since` is the change that last altered this light.
    """

    channel = serializers.IntegerField(source="channel_id")
    channel_name = serializers.CharField(source="name")
    is_standby = serializers.BooleanField()
    port = serializers.IntegerField(source="port_id")
    leg = serializers.IntegerField(source="leg_id", allow_null=True)
    split = serializers.IntegerField()
    fibre_m = serializers.FloatField()
    wavelength_nm = serializers.IntegerField()
    launch_dbm = Levels(source="launch")
    level_dbm = Levels(source="level")
    up_level_dbm = Levels(source="up_level")
    down_loss_db = Losses(source="down_loss")
    up_loss_db = Losses(source="up_loss")
    down_verdicts = VerdictSerializer(many=True)
    up_verdicts = VerdictSerializer(many=True)
    down_margins = MarginsSerializer()
    up_margins = MarginsSerializer()
    since = serializers.IntegerField()


class FeedSerializer(LitSerializer):
    """The light of one channel at one point, and `upstream`, the point it comes from.

    `id` is made of point and channel. All of it is reckoned from the plant.
    """

    id = serializers.SerializerMethodField()
    point = serializers.IntegerField(source="point_id")
    upstream = serializers.SerializerMethodField()

    def get_id(self, lit: Lit) -> str:
        """Return what identifies it."""
        return f"{lit.point_id}-{lit.channel_id}"

    def get_upstream(self, lit: Lit) -> int | None:
        """Return the point the light comes from; none at the PON port itself."""
        upstream: int | None = self.context["upstream"][lit.point_id, lit.channel_id]
        return upstream


class AfterFeedFilter(django_filters.Filter):
    """The id of a feed: only those that come after it, to walk a long list."""

    field_class = forms.RegexField
    allowed = "the id of a feed, such as 101-3"
    schema: ClassVar = {"type": "string", "pattern": FEED_ID, "example": "101-3"}

    def __init__(self, **options: Any) -> None:
        """Take an id as the list gives it."""
        super().__init__(regex=f"^{FEED_ID}$", **options)

    def filter(self, qs: QuerySet[Any], value: str | None) -> QuerySet[Any]:
        """Limit to what comes later in the order of points, then channels."""
        if not value:
            return qs
        point, channel = _key(value)
        return qs.filter(Q(point__gt=point) | Q(point=point, channel__gt=channel))


class FeedFilters(NounFilters):
    """How feeds are found."""

    after = AfterFeedFilter()
    point = IdFilter()
    channel = IdFilter()
    leg = IdFilter(help_text="Lit through this splitter leg.")
    equipment = IdFilter("point__equipment", help_text="At a port of this.")
    inside = InsideFilter("point__equipment__place__path", help_text="At ports in it or inside.")
    role = KindFilter("point__role", choices=Role.choices, help_text="Of the point.")


class FeedViewSet(NounViewSet):
    """Feeds: the light of each channel at each point it reaches."""

    queryset = Feed.objects.all()
    serializer_class = FeedSerializer
    filters = FeedFilters
    lookup_value_converter = "slug"
    has_history = False  # the ways by which it changes are those of the plant

    def found(self, rows: QuerySet[Feed], pk: Any) -> Feed | None:
        if not re.fullmatch(FEED_ID, pk):
            return None
        point, channel = _key(pk)
        return rows.filter(point=point, channel=channel).first()

    def told(self, rows: Sequence[Feed]) -> Any:
        light = {
            (each.point_id, each.channel_id): each for each in lit_at(row.point_id for row in rows)
        }
        upstream = {(row.point_id, row.channel_id): row.upstream_id for row in rows}
        context = {**self.get_serializer_context(), "upstream": upstream}
        listed = [light[key] for key in upstream if key in light]
        return self.get_serializer_class()(listed, many=True, context=context).data


def _key(feed_id: str) -> tuple[int, int]:
    point, _, channel = feed_id.partition("-")
    return int(point), int(channel)


class LightPort(VerbShape):
    """What `channels.light` takes."""

    example = {"port": 101, "optical_class": 2, "reason": "card installed"}

    port = Id(help_text="A PON port.")
    optical_class = Id(help_text="The technology and class, such as GPON B+.")
    standby_for = Id(
        required=False, allow_null=True, help_text="The main channel that this one stands by for."
    )


class DarkenChannel(VerbShape):
    """What `channels.darken` takes."""

    example = {"channel": 3, "reason": "card taken out"}

    channel = Id()


class MeasureLaunch(VerbShape):
    """What `channels.measure` takes."""

    example = {"channel": 3, "launch_dbm": 3.1}

    channel = Id()
    launch_dbm = Number(help_text="The level measured at the PON port.")


class UnmeasureLaunch(VerbShape):
    """What `channels.unmeasure` takes."""

    example = {"channel": 3, "reason": "card swapped"}

    channel = Id()
