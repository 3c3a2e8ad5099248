"""Tags: label codes that hang on things, or wait to be bound."""

from collections.abc import Iterator
from itertools import islice
from typing import Any

from django.db.models import Q, QuerySet
from rest_framework import serializers

from api.faults import WrongValue, WrongValuesError, echoed
from api.filters import IdFilter, KindFilter, NounFilters, TextFilter
from api.nouns import NounViewSet
from api.shapes import Id, Shape, Text, VerbShape, Whole
from labels.random_codes import random_codes
from records.changes.tags import BOUND_MAX, Binding
from records.models import TAGGED, Tag
from records.models.tag_code import TagCodeError, grouped, parse

ISSUED_MAX = 1_000
"""Codes issued by one request."""

CANDIDATES_A_CODE = 50
"""Random codes offered for each wanted: most are free, so even a nearly full book has enough."""


class TagSerializer(serializers.ModelSerializer[Tag]):
    """A tag's code and what it hangs on.

    `noun` and `thing` are null while it is blank; `voided` says why it was withdrawn.
    """

    code = serializers.SerializerMethodField()
    noun = serializers.SerializerMethodField()
    thing = serializers.SerializerMethodField()
    cable_end = serializers.ChoiceField(["A", "B"], allow_blank=True, read_only=True)

    class Meta:
        model = Tag
        fields = ("id", "code", "noun", "thing", "cable_end", "voided")
        read_only_fields = fields

    def get_code(self, tag: Tag) -> str:
        """Return the code as labels show it."""
        return grouped(tag.code)

    def get_noun(self, tag: Tag) -> str | None:
        """Return the noun of what it hangs on."""
        return next((noun for noun in TAGGED if getattr(tag, f"{noun}_id") is not None), None)

    def get_thing(self, tag: Tag) -> int | None:
        """Return the id of what it hangs on."""
        noun = self.get_noun(tag)
        thing: int | None = getattr(tag, f"{noun}_id") if noun else None
        return thing


class CodeFilter(TextFilter):
    """A code, with or without its hyphen."""

    allowed = "a tag code such as 7K3M-9QX8"

    def filter(self, qs: QuerySet[Tag], value: str) -> QuerySet[Tag]:
        """Limit to the tag with that code; what is no code fits none."""
        if not value:
            return qs
        try:
            return qs.filter(code=parse(value))
        except TagCodeError as error:
            wrong = WrongValue("code", echoed(value), str(error), self.allowed)
            raise WrongValuesError([wrong], in_query=True) from error


class TagFilters(NounFilters):
    """How tags are found."""

    code = CodeFilter()
    point = IdFilter()
    equipment = IdFilter()
    place = IdFilter()
    line = IdFilter()
    cable = IdFilter()
    state = KindFilter(
        choices=[("blank", "blank"), ("bound", "bound"), ("voided", "voided")], method="by_state"
    )

    def by_state(self, rows: QuerySet[Tag], _name: str, value: str) -> QuerySet[Tag]:
        """Limit to tags that hang on a thing, wait for one, or were withdrawn."""
        if value == "voided":
            return rows.exclude(voided="")
        hangs_on_nothing = Q(**{f"{noun}__isnull": True for noun in TAGGED})
        free = rows.filter(voided="")
        return (
            free.filter(hangs_on_nothing) if value == "blank" else free.exclude(hangs_on_nothing)
        )


class TagViewSet(NounViewSet):
    """Tags: bound, blank and withdrawn ones."""

    queryset = Tag.objects.all()
    serializer_class = TagSerializer
    filters = TagFilters
    orderings = {"id": "pk", "code": "code"}


class IssueTags(VerbShape):
    """What `tags.issue` takes."""

    example = {"count": 24, "reason": "a roll for the riser"}

    count = Whole(min_value=1, max_value=ISSUED_MAX, help_text="How many blank tags.")


class BindTag(VerbShape):
    """What `tags.bind` takes."""

    example = {"code": "7K3M-9QX8", "noun": "point", "thing": 131}

    code = Text(help_text="Of a blank tag, with or without its hyphen.")
    noun = serializers.ChoiceField(TAGGED)
    thing = Id(help_text="What it hangs on.")
    cable_end = serializers.ChoiceField(["", "A", "B"], required=False, help_text="Of a cable.")


class BindingShape(Shape):
    """A blank tag and what it hangs on."""

    code = Text(help_text="Of a blank tag, with or without its hyphen.")
    noun = serializers.ChoiceField(TAGGED)
    thing = Id(help_text="What it hangs on.")
    cable_end = serializers.ChoiceField(["", "A", "B"], required=False, help_text="Of a cable.")

    def to_internal_value(self, data: Any) -> Any:
        return Binding(**super().to_internal_value(data))


class BindTags(VerbShape):
    """What `tags.bind_all` takes: the tags of a roll, all bound or none."""

    example = {
        "bindings": [
            {"code": "7K3M-9QX8", "noun": "point", "thing": 131},
            {"code": "4T0B-2ZC5", "noun": "cable", "thing": 7, "cable_end": "A"},
        ]
    }

    bindings = serializers.ListField(child=BindingShape(), max_length=BOUND_MAX)


class VoidTag(VerbShape):
    """What `tags.void` takes."""

    example = {"code": "7K3M-9QX8", "why": "label torn"}

    code = Text()
    why = Text(help_text="Why it is withdrawn.")


def candidates(count: int) -> Iterator[str]:
    """Return random codes, more than enough to find that many unused ones."""
    return islice(random_codes(), count * CANDIDATES_A_CODE)
