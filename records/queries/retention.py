"""What leads to a person and has outlived its use: references, scans of labels, accounts."""

from datetime import datetime
from typing import Any

from django.contrib.auth import get_user_model
from django.db.models import CharField, Exists, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Cast, Concat

from records.models import KEPT, OPEN_STATES, Booking, Change, Line, Sighting

_NAMELESS = "person-"


def lines_past_use(number: int) -> list[Line]:
    """Return lines with an outside reference, and no promised leg since change `number`.

    A line counts from when it was opened, if it never had a leg. `moment.number_at` tells the
    change of a date.
    """
    bookings: Any = KEPT[Booking].objects
    past_lines: Any = KEPT[Line].objects
    served = bookings.filter(state__in=OPEN_STATES, until__gt=number).values("line")
    opened_by_then = past_lines.filter(since__lte=number).values("id")
    kept = Line.objects.filter(pk__in=opened_by_then).exclude(outside_ref="")
    return list(kept.exclude(pk__in=served).select_related("place").order_by("pk"))


def sightings_before(moment: datetime) -> int:
    """Return how many scans of labels before a moment still say who made them."""
    return Sighting.objects.filter(at__lt=moment, by__isnull=False).count()


def people_idle_since(moment: datetime) -> list[Any]:
    """Return the accounts with a name that neither signed in nor changed anything since then.

    Each has `changed_at`, the moment of its latest change, if it made any.
    """
    own = Change.objects.filter(actor=OuterRef("pk"), sealed=True)
    latest = own.order_by("-number").values("at")[:1]
    people = named_people().annotate(changed_at=Subquery(latest))
    idle = people.exclude(last_login__gte=moment).exclude(Exists(own.filter(at__gte=moment)))
    return list(idle.filter(date_joined__lt=moment))


def named_people() -> QuerySet[Any]:
    """Return the accounts that still have a name, by name."""
    people = get_user_model()._default_manager  # noqa: SLF001 (Django's name)
    without = Concat(Value(_NAMELESS), Cast("pk", CharField()))
    return people.exclude(username=without).order_by("username")


def nameless(person: int) -> str:
    """Return what an account is called once its name is cut out."""
    return f"{_NAMELESS}{person}"
