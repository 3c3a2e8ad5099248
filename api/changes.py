"""Changes: who altered the record, when, why, and what that did to light and bookings."""

from typing import Any, ClassVar

from rest_framework import serializers

from api.filters import IdFilter, NounFilters, TextFilter, TimeFilter
from api.nouns import NounViewSet
from api.quantities import Levels
from records.changes import OpenChange
from records.changes.previews import consequences_of
from records.models import Change
from records.queries.changes import of_verb
from records.queries.consequences import HomeShift, Light
from records.queries.touching import changes_touching


class BookingEffectSerializer(serializers.Serializer[Any]):
    """What became of the booking of a leg."""

    leg = serializers.IntegerField()
    what = serializers.CharField()
    line = serializers.CharField(required=False)


class EffectSerializer(serializers.Serializer[Any]):
    """What a change did to light and bookings.

    `warnings` tell what a person should know though it was no reason to refuse; the answer of a
    verb tells what is wrong with the light of homes too, and names them in `homes`, which the
    record of a change leaves out. `terminals_lit`
    and `terminals_darkened` list the ports of home terminals that had no light before, and that
    have none left. `terminals_on_standby` and `terminals_kept_lit` lost a channel, and its standby
    or another channel lights them; changes of before these were told counted both as darkened.
    `terminals_interrupted` are dark only while it is done.
    `feeds_written` counts the feeds whose values changed.
    """

    terminals_lit = serializers.ListField(child=serializers.IntegerField())
    terminals_darkened = serializers.ListField(child=serializers.IntegerField())
    terminals_on_standby = serializers.ListField(child=serializers.IntegerField(), default=list)
    terminals_kept_lit = serializers.ListField(child=serializers.IntegerField(), default=list)
    terminals_interrupted = serializers.ListField(child=serializers.IntegerField(), default=list)
    bookings = BookingEffectSerializer(many=True)
    warnings = serializers.ListField(child=serializers.CharField(), default=list)
    feeds_written = serializers.IntegerField()


class LightSerializer(serializers.Serializer[Light]):
    """The light of one channel at a home and what is wrong with it, both ways."""

    channel_name = serializers.CharField(source="channel")
    level_dbm = Levels(source="down")
    up_level_dbm = Levels(source="up")
    verdicts = serializers.ListField(child=serializers.CharField())


class HomeShiftSerializer(serializers.Serializer[HomeShift]):
    """A home terminal that goes dark, gets light, or whose light is wrong in another way."""

    point = serializers.IntegerField(source="point_id")
    place = serializers.IntegerField(source="place_id")
    address = serializers.CharField()
    terminal = serializers.CharField()
    before = LightSerializer(many=True)
    after = LightSerializer(many=True)


class MadeEffectSerializer(EffectSerializer):
    """What a change does to light and bookings, in the words of the page that previews it."""

    homes = HomeShiftSerializer(many=True, required=False)


def effect_told(change: OpenChange) -> dict[str, Any]:
    """Return what an open change has done so far, as a verb's answer tells it."""
    sum_of = consequences_of(change)
    homes = [
        each for each in sum_of.homes if each.verdicts_change or not each.before or not each.after
    ]
    told = {**change.effect(), "warnings": sum_of.warnings, "homes": homes}
    return dict(MadeEffectSerializer(told).data)


def words_of(effect: dict[str, Any]) -> list[str]:
    """Return what a change did in words, step by step."""
    return [step["words"] for step in effect.get("steps", ())]


WORDS_MAX = 5
"""Steps told of one change in a list; an intake has thousands."""


class ChangeSerializer(serializers.ModelSerializer[Change]):
    """One committed alteration of the record: who, when, why, and in words what.

    In a list `words` tells the first steps of a long change; `step_count` says how many it has.
    """

    actor = serializers.CharField(source="actor.username", read_only=True)
    words = serializers.SerializerMethodField()
    step_count = serializers.SerializerMethodField()

    class Meta:
        model = Change
        fields: tuple[str, ...] = (
            "number",
            "verb",
            "actor",
            "reason",
            "job",
            "at",
            "step_count",
            "words",
        )
        read_only_fields: tuple[str, ...] = fields

    def get_step_count(self, change: Change) -> int:
        """Return how many steps it has."""
        return len(change.effect.get("steps", ()))

    def get_words(self, change: Change) -> list[str]:
        """Return what its first steps did."""
        return words_of(change.effect)[:WORDS_MAX]


class ChangeInFullSerializer(ChangeSerializer):
    """One committed alteration of the record, with what it did to light and bookings."""

    effect = EffectSerializer(read_only=True)

    class Meta(ChangeSerializer.Meta):
        fields = (*ChangeSerializer.Meta.fields, "effect")
        read_only_fields = fields

    def get_words(self, change: Change) -> list[str]:
        """Return what it did, step by step."""
        return words_of(change.effect)


class TouchingFilter(IdFilter):
    """The id of a thing: the changes that touched it, or what hangs on it or lies inside it."""

    def __init__(self, noun: str) -> None:
        """Name what the id is of."""
        super().__init__(help_text=f"That touched this {noun}, what hangs on it or is inside it.")
        self.noun = noun

    def filter(self, qs: Any, value: int | None) -> Any:
        """Limit to the changes that touched the thing."""
        if value is None:
            return qs
        return qs.filter(pk__in=changes_touching(self.noun, value).values("pk"))


class VerbFilter(TextFilter):
    """A verb, alone in a change or among several."""

    def filter(self, qs: Any, value: str) -> Any:
        """Limit to the changes that have the verb."""
        return of_verb(qs, value) if value else qs


class ChangeFilters(NounFilters):
    """How changes are found."""

    after = None  # type: ignore[assignment] # so the framework leaves a filter out
    since = IdFilter("number", lookup_expr="gt", help_text="Made after the change of this number.")
    actor = TextFilter("actor__username", lookup_expr="exact", help_text="A user's name.")
    verb = VerbFilter(help_text="Such as joints.join; also among several of one change.")
    reason = TextFilter()
    at_from = TimeFilter("at", lookup_expr="gte", help_text="Made at this time or later.")
    at_until = TimeFilter("at", lookup_expr="lt", help_text="Made before this time.")
    job = IdFilter("job_id", help_text="Made for this job.")
    place = TouchingFilter("place")
    equipment = TouchingFilter("equipment")
    cable = TouchingFilter("cable")
    line = TouchingFilter("line")
    point = TouchingFilter("point")


class ChangeViewSet(NounViewSet):
    """Changes, the latest first unless ordered otherwise."""

    queryset = Change.objects.filter(sealed=True).select_related("actor")
    serializer_class = ChangeSerializer
    filters = ChangeFilters
    has_past = has_history = False
    orderings: ClassVar = {"number": "pk"}
    order_signs = ("-", "")

    def get_serializer_class(self) -> Any:
        return ChangeInFullSerializer if self.action == "retrieve" else ChangeSerializer
