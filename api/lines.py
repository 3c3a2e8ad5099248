"""Lines and the bookings of legs for them."""

from collections.abc import Sequence
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.filters import IdFilter, InsideFilter, KindFilter, NounFilters, TextFilter, YesNoFilter
from api.nouns import Beside, NounViewSet, WordsAside
from api.shapes import Id, Number, Text, VerbShape
from records.models import Booking, BookingState, Line
from records.queries.names import addresses, short_name


class OpenBookingSerializer(serializers.ModelSerializer[Booking]):
    """The leg promised to a line, held or live."""

    class Meta:
        model = Booking
        fields = ("id", "leg", "state")
        read_only_fields = fields


class LineSerializer(serializers.ModelSerializer[Line]):
    """The right of a dwelling to be connected. `booking` is null while no leg is promised."""

    address = WordsAside("addresses", "place_id")
    booking = serializers.SerializerMethodField()

    class Meta:
        model = Line
        fields = ("id", "identifier", "place", "address", "outside_ref", "booking")
        read_only_fields = fields

    @extend_schema_field(OpenBookingSerializer(allow_null=True))
    def get_booking(self, line: Line) -> Any:
        """Return its open booking, of which it has at most one."""
        held = list(line.bookings.all())
        return OpenBookingSerializer(held[0]).data if held else None


class LineFilters(NounFilters):
    """How lines are found."""

    identifier = TextFilter(lookup_expr="iexact")
    outside_ref = TextFilter(lookup_expr="iexact")
    place = IdFilter(help_text="Of this dwelling.")
    inside = InsideFilter("place__path")
    booked = YesNoFilter(method="by_booking", help_text="Whether a leg is promised to it.")

    def by_booking(self, rows: QuerySet[Line], _name: str, value: bool) -> QuerySet[Line]:  # noqa: FBT001 (the framework's signature)
        """Limit to lines with a leg, or without."""
        promised = Exists(Booking.objects.open().filter(line=OuterRef("pk")))
        return rows.filter(promised if value else ~promised)


class LineViewSet(NounViewSet):
    """Lines of dwellings."""

    queryset = Line.objects.select_related("place").prefetch_related(
        Prefetch("bookings", Booking.objects.open())
    )
    serializer_class = LineSerializer
    filters = LineFilters
    orderings = {"id": "pk", "identifier": "identifier"}

    def beside(self, rows: Sequence[Line]) -> Beside:
        return {"addresses": addresses({each.place for each in rows})}


class BookingSerializer(serializers.ModelSerializer[Booking]):
    """A leg promised to a line. Live: the dwelling's terminal is lit through the leg."""

    leg_name = serializers.SerializerMethodField()
    equipment = serializers.IntegerField(source="leg.equipment_id", read_only=True)
    line_identifier = serializers.CharField(source="line.identifier", read_only=True)
    place = serializers.IntegerField(source="line.place_id", read_only=True)
    address = WordsAside("addresses", "line_id")

    class Meta:
        model = Booking
        fields = (
            "id",
            "state",
            "leg",
            "leg_name",
            "equipment",
            "line",
            "line_identifier",
            "place",
            "address",
        )
        read_only_fields = fields

    def get_leg_name(self, booking: Booking) -> str:
        """Return what the leg is called."""
        return short_name(booking.leg)


class BookingFilters(NounFilters):
    """How bookings are found."""

    state = KindFilter(choices=BookingState.choices)
    open = YesNoFilter(method="by_open", help_text="Held or live, not released.")
    leg = IdFilter()
    line = IdFilter()
    equipment = IdFilter("leg__equipment", help_text="Of a leg of this splitter.")
    place = IdFilter("line__place", help_text="For this dwelling.")
    inside = InsideFilter("line__place__path", help_text="For dwellings in this place.")

    def by_open(self, rows: QuerySet[Booking], _name: str, value: bool) -> QuerySet[Booking]:  # noqa: FBT001 (the framework's signature)
        """Limit to bookings that still promise a leg, or to those that don't."""
        still_open = Booking.objects.open().values("pk")
        return rows.filter(pk__in=still_open) if value else rows.exclude(pk__in=still_open)


class BookingViewSet(NounViewSet):
    """Bookings of splitter legs, past ones included."""

    queryset = Booking.objects.select_related(
        "leg__equipment", "leg__passage__cable", "line__place"
    )
    serializer_class = BookingSerializer
    filters = BookingFilters
    orderings = {"id": "pk", "state": "state"}

    def beside(self, rows: Sequence[Booking]) -> Beside:
        known = addresses({each.line.place for each in rows})
        return {"addresses": {each.line_id: known[each.line.place_id] for each in rows}}


class OpenLine(VerbShape):
    """What `lines.open` takes."""

    example = {"place": 12, "reason": "second line wanted"}

    place = Id(help_text="A dwelling.")
    identifier = Text(required=False, help_text="The next number if not given.")
    outside_ref = Text(required=False, help_text="An opaque reference; never a person's name.")


class BookLeg(VerbShape):
    """What `bookings.book` takes."""

    example = {"leg": 131, "line": 12, "reason": "order taken"}

    leg = Id(help_text="A spare splitter leg.")
    line = Id()


class ReleaseLeg(VerbShape):
    """What `bookings.release` takes."""

    example = {"leg": 131, "reason": "order withdrawn"}

    leg = Id()


class BarLeg(VerbShape):
    """What `bookings.bar` takes."""

    example = {"leg": 131, "why": "tail broken at the splitter"}

    leg = Id()
    why = Text(help_text="What is wrong with it, or for what it is withheld.")


class UnbarLeg(VerbShape):
    """What `bookings.unbar` takes."""

    example = {"leg": 131, "reason": "tail mended"}

    leg = Id()


class MeasureLeg(VerbShape):
    """What `bookings.measure` takes."""

    example = {"leg": 131, "loss_db": 16.7}

    leg = Id()
    loss_db = Number(help_text="From the splitter's input to that leg, by its test sheet.")


class UnmeasureLeg(VerbShape):
    """What `bookings.unmeasure` takes."""

    example = {"leg": 131, "reason": "test sheet was of another splitter"}

    leg = Id()


class MoveBooking(VerbShape):
    """What `bookings.move` takes."""

    example = {"leg": 131, "to": 135, "reason": "leg is noisy"}

    leg = Id(help_text="The booked leg.")
    to = Id(help_text="A spare leg.")
