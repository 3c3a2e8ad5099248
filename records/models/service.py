"""What the plant is for: channels lit, lines, bookings, feeds and readings."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.models.catalogue import Direction, OpticalClass
from records.models.changes import Change
from records.models.kept import kept
from records.models.places import Place
from records.models.plant import Point


@kept("point")
class Channel(models.Model):
    """One technology and class lit by a PON port. Light starts here.

    A channel declared `standby_for` another may reach the same points at the same wavelength.
    `launch_mdbm` is the port's measured launch; without it the class's range holds.
    """

    point = models.ForeignKey(Point, on_delete=models.PROTECT, related_name="channels")
    optical_class = models.ForeignKey(
        OpticalClass, on_delete=models.PROTECT, related_name="channels"
    )
    standby_for = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="standby"
    )
    launch_mdbm = models.IntegerField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["point", "optical_class"], name="channel_is_unique_at_its_port"
            ),
            models.CheckConstraint(
                condition=Q(standby_for__isnull=True) | ~Q(standby_for=models.F("id")),
                name="channel_is_not_its_own_standby",
            ),
        )

    def __str__(self) -> str:
        return f"{self.optical_class} channel {self.pk}"


@kept("place", personal=("outside_ref",))
class Line(models.Model):
    """The right of a dwelling to be connected. Its identifier outlives everything it uses.

    `outside_ref` is at most an opaque reference; no name of a person belongs anywhere here.
    """

    identifier = models.CharField(max_length=30, unique=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="lines")
    outside_ref = models.CharField(max_length=60, blank=True)

    def __str__(self) -> str:
        return self.identifier


class BookingState(models.TextChoices):
    """Held: promised. Live: the dwelling's terminal is lit through the leg. Released: past."""

    HELD = "held", "held"
    LIVE = "live", "live"
    RELEASED = "released", "released"


OPEN_STATES = (BookingState.HELD, BookingState.LIVE)


class BookingQuerySet(models.QuerySet["Booking"]):
    """Bookings."""

    def open(self) -> "BookingQuerySet":
        """Return those that still promise a leg."""
        return self.filter(state__in=OPEN_STATES)


@kept("leg", "line")
class Booking(models.Model):
    """A leg promised to a line. At most one open booking a leg, and a line."""

    leg = models.ForeignKey(Point, on_delete=models.PROTECT, related_name="bookings")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="bookings")
    state = models.CharField(max_length=8, choices=BookingState, default=BookingState.HELD)

    objects = BookingQuerySet.as_manager()

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=BookingState.values), name="booking_state_is_known"
            ),
            models.UniqueConstraint(
                fields=["leg"],
                condition=Q(state__in=["held", "live"]),
                name="booking_one_open_per_leg",
                violation_error_code="leg_booked",
            ),
            models.UniqueConstraint(
                fields=["line"],
                condition=Q(state__in=["held", "live"]),
                name="booking_one_open_per_line",
                violation_error_code="line_booked",
            ),
        )

    def __str__(self) -> str:
        return f"{self.line} on leg {self.leg_id} ({self.state})"


@kept("point", "upstream", "leg", derived=True)
class Feed(models.Model):
    """The light of one channel at one point, derived from the plant and never edited.

    Losses are from the channel's port, in millidecibels, for the down and the up wavelength.
    `upstream` is the point the light comes from, `leg` the nearest splitter leg above or at the
    point, `split` the product of the splits above. `since` is the change that last wrote the row.
    """

    pk = models.CompositePrimaryKey("point_id", "channel_id")
    point = models.ForeignKey(Point, on_delete=models.PROTECT, related_name="feeds")
    channel = models.ForeignKey(
        Channel, on_delete=models.PROTECT, related_name="feeds", db_index=False
    )
    upstream = models.ForeignKey(
        Point, on_delete=models.PROTECT, null=True, related_name="+", db_constraint=False
    )
    leg = models.ForeignKey(
        Point, on_delete=models.PROTECT, null=True, related_name="+", db_constraint=False
    )
    length_cm = models.PositiveIntegerField()
    split = models.PositiveIntegerField()
    down_least_mdb = models.IntegerField()
    down_typical_mdb = models.IntegerField()
    down_most_mdb = models.IntegerField()
    up_least_mdb = models.IntegerField()
    up_typical_mdb = models.IntegerField()
    up_most_mdb = models.IntegerField()
    since = models.BigIntegerField()

    def __str__(self) -> str:
        return f"channel {self.channel_id} at point {self.point_id}"


@kept("point")
class Reading(models.Model):
    """A measured level at a point. `level_mdbm` null means the meter saw no light."""

    point = models.ForeignKey(Point, on_delete=models.PROTECT, related_name="readings")
    wavelength_nm = models.PositiveSmallIntegerField()
    direction = models.CharField(max_length=4, choices=Direction)
    level_mdbm = models.IntegerField(null=True, blank=True)
    uncertainty_mdb = models.PositiveIntegerField(default=500)
    meter = models.CharField(max_length=60, blank=True)
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="readings"
    )
    change = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="readings")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(direction__in=Direction.values), name="reading_direction_is_known"
            ),
            models.CheckConstraint(
                condition=Q(wavelength_nm__gte=1260, wavelength_nm__lte=1675),
                name="reading_wavelength_is_in_the_bands_of_single_mode_fibre",
            ),
        )

    def __str__(self) -> str:
        return f"reading {self.pk} at point {self.point_id}"
