"""Many processes that book the same legs at once: started by the race tests.

    python tests/races/crew.py COUNT ["without turns"] ["and join"]

Becomes that many processes, each with its own connection. When all are ready, each tries to book
every leg, again when told that the record is busy; in the end the first says how many they got.
With 'and join' the terminal of the flat is joined to the leg in the same change.
"""

import multiprocessing
import os
import random
import sys
from collections import Counter
from datetime import UTC, datetime
from multiprocessing.synchronize import Barrier
from pathlib import Path

import django


def _no_turn() -> None:
    """Stand for the taking of turns in the control arm."""


def main(count: int, options: list[str]) -> None:
    """Let all crews begin at the same moment, and say what they got in sum."""
    sys.path.insert(0, str(Path(__file__).parents[2]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    django.setup()
    import records.changes  # noqa: F401, PLC0415 (once, before there are many)

    # Forked, as importing the product costs more than the race; nothing is connected yet.
    fork = multiprocessing.get_context("fork")
    ready, results = fork.Barrier(count), fork.SimpleQueue()
    crews = [
        fork.Process(target=_crew, args=(number, options, ready, results))
        for number in range(count)
    ]
    for crew in crews:
        crew.start()
    for crew in crews:
        crew.join()
    if any(crew.exitcode for crew in crews):
        sys.exit("A crew came to grief; see above.")
    outcomes: Counter[str] = sum((results.get() for _ in crews), Counter())
    sys.stdout.write(" ".join(f"{code}={count}" for code, count in outcomes.items()))


def _crew(
    number: int,
    options: list[str],
    ready: Barrier,
    results: "multiprocessing.SimpleQueue[Counter[str]]",
) -> None:
    """Book what can be had, in an order of one's own."""
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
    ready.wait(timeout=60)
    outcomes: Counter[str] = Counter()
    while tries:
        leg, line = tries.pop()
        try:
            with changes.opened(actor=actor, at=datetime(2026, 3, 2, tzinfo=UTC)) as change:
                bookings.book(change, leg, line=line.pk)
                if at_home:
                    joints.join(change, leg, at_home[line.place_id], kind="mated")
            outcomes["booked"] += 1
        except changes.Busy:
            tries.append((leg, line))
        except changes.Refusal as refusal:
            outcomes[refusal.code] += 1
    results.put(outcomes)


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2:])
