"""Tell how long a fibre is, from its route or from the time its light takes.

A fibre is longer than its route: light goes round every slack loop.
"""

from collections.abc import Iterable
from math import fsum

from records.optics.decibels import finite

# Source: exact by the definition of the metre (SI brochure, 9th edition).
LIGHT_M_PER_S = 299_792_458
NS_PER_S = 1e9


def fibre_length_m(*, route_m: float, slack_m: Iterable[float] = ()) -> float:
    """Return the length of a fibre: its route and all its slack loops.

    >>> fibre_length_m(route_m=4000, slack_m=[30] * 22)
    4660.0
    """
    parts = (route_m, *slack_m)
    if min(finite(part, "a length in m") for part in parts) < 0:
        raise ValueError(f"route and slack are {parts} m; none is below zero")
    return fsum(parts)


def distance_m(*, travel_ns: float, group_index: float) -> float:
    """Return how far light goes along a fibre in a time, one way.

    The group index belongs to the trace it was read with, not to all fibre: 1.475 taken for 1.468
    shortens a fibre by 4.8 m a kilometre.

    Raises: ValueError for a time below zero or an index below that of vacuum, 1.

    >>> round(distance_m(travel_ns=62374.9, group_index=1.4711))
    12711
    """
    if finite(travel_ns, "travel_ns") < 0 or finite(group_index, "group_index") < 1:
        raise ValueError(
            f"{travel_ns} ns at group index {group_index}; give a time of 0 or more, an index "
            "of 1 or more"
        )
    return travel_ns / NS_PER_S * LIGHT_M_PER_S / group_index
