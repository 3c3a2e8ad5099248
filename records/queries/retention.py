"""Which lines still carry an outside reference that has outlived its use."""

from typing import Any

from records.models import KEPT, OPEN_STATES, Booking, Line


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
    return list(kept.exclude(pk__in=served).order_by("pk"))
