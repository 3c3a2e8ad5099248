"""One of many processes that book the same legs at once: started by the race tests.

    python tests/races/crew.py NUMBER ["without turns"] ["and join"]

Says 'ready', waits for a line, then tries to book every leg and says how many it got. With
'and join' the terminal of the flat is joined to the leg in the same change.
"""

import os
import random
import sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import django


def _no_turn() -> None:
    """Stand for the taking of turns in the control arm."""


def main(number: int, options: list[str]) -> None:
    """Book what can be had."""
    sys.path.insert(0, str(Path(__file__).parents[2]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    django.setup()
    from django.contrib.auth import get_user_model  # noqa: PLC0415 (needs Django's set-up)

    from records import changes  # noqa: PLC0415
    from records.changes import _transaction, bookings, joints  # noqa: PLC0415
    from records.models import Line, Point, Role  # noqa: PLC0415

    if "without turns" in options:
        _transaction._take_turn = _no_turn
    actor = get_user_model().objects.get(username="crew")
    legs = list(Point.objects.filter(role=Role.LEG).order_by("id").values_list("id", flat=True))
    lines = list(Line.objects.order_by("id"))
    terminals = Point.objects.filter(role=Role.TERMINAL).values_list("equipment__place", "id")
    at_home = dict(terminals) if "and join" in options else {}
    tries = [(leg, lines[(place + number) % len(lines)]) for place, leg in enumerate(legs)]
    random.Random(number).shuffle(tries)
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    sys.stdin.readline()
    outcomes: Counter[str] = Counter()
    for leg, line in tries:
        try:
            with changes.opened(actor=actor, at=datetime(2026, 3, 2, tzinfo=UTC)) as change:
                bookings.book(change, leg, line=line.pk)
                if at_home:
                    joints.join(change, leg, at_home[line.place_id], kind="mated")
            outcomes["booked"] += 1
        except changes.Refusal as refusal:
            outcomes[refusal.code] += 1
    sys.stdout.write(" ".join(f"{code}={count}" for code, count in outcomes.items()))


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2:])
