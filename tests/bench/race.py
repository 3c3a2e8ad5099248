# ruff: noqa: PLC0415 - imports wait for Django
"""Thirty-two processes race to book 500 lit legs, and each joins the homes that it got.

python -m tests.bench.race
"""

import time

CREWS = 32
FLATS = 500
SPLITTERS = ("1:128", "1:128", "1:128", "1:64", "1:32", "1:16", "1:4")  # 500 legs


def report() -> None:
    """Race in an empty test database and print what came of it."""
    from django.db import connection
    from django.db.models import Count

    from records.models import Booking, Feed, Point, Role
    from records.queries import chain
    from records.queries.invariants import broken
    from tests.factories import Plant
    from tests.races.crews import race

    Plant(_plant())
    started = time.perf_counter()
    told = race(CREWS, "and join")
    took_s = time.perf_counter() - started
    booked = Booking.objects.open().count()
    doubled = Booking.objects.open().values("leg").annotate(times=Count("pk")).filter(times__gt=1)
    lit = Feed.objects.filter(point__role=Role.TERMINAL).count()
    legs = Point.objects.filter(role=Role.LEG).count()
    print(f"\n{connection.vendor}, {CREWS} processes race for {legs} legs: {took_s:.0f} s")
    print(f"  outcomes: {dict(told)}")
    print(f"  bookings {booked}, lost {told['booked'] - booked}, doubled {doubled.count()}")
    print(f"  homes lit {lit}; laws broken, feeds recomputed from nothing: {len(list(broken()))}")
    print(f"  chain: {chain.first_break() or 'whole'}")


def _plant() -> str:
    """Return a plant in which each splitter has a PON port of its own."""
    lines = [f"olt O x{len(SPLITTERS)}"]
    for number, pattern in enumerate(SPLITTERS, start=1):
        lines += [f"splitter S{number} {pattern}", f"cable F{number} 300 m"]
        lines += [f"light O.{number} GPON C+", f"O.{number} = F{number} = S{number}"]
    lines += [f"terminal T{number} @{number}" for number in range(FLATS)]
    return "\n".join(lines)


if __name__ == "__main__":
    from tests.bench.database import in_a_database

    in_a_database(report)
