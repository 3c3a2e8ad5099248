# ruff: noqa: PLC0415 - imports wait for Django
"""Common causes under a 1:128 tree beside dense matrices in numpy, and how often they are right.

python -m tests.bench.causes
"""

from collections.abc import Callable, Iterable
from random import Random
from typing import Any

WANTED_MS = 50
CASES = 200
NOISES_DB = (0.1, 0.3, 0.5, 1.0)
FAULT_DB = 3.0
SEED = 20260302


def report() -> None:
    """Print the figures for a tree of 128 homes, each of them read, and then the accuracy."""
    speed()
    accuracy()


def speed() -> None:
    """Print how long the causes take to be told, beside the same sums by dense matrices."""
    from django.db import connection

    from records.models import Channel
    from records.queries.causes import causes
    from tests.bench import network
    from tests.bench.clock import beside_ms, own_ms

    channel = Channel.objects.get(point=network.big_tree()).pk
    print(f"\n{connection.vendor}, the common causes under a 1:128 tree, each home read once")
    for what, lowered in (("one flat low", 1), ("a third low", 43), ("all low", 128)):
        _read(channel, lowered)
        ours_ms, numpy_ms = beside_ms(lambda: causes(channel), _dense(channel))
        print(
            f"  {what}: {ours_ms:.1f} ms, of which {own_ms(lambda: causes(channel)):.1f} ms in "
            f"this process, wanted {WANTED_MS}; numpy {numpy_ms:.1f} ms, "
            f"ratio {ours_ms / numpy_ms:.1f}"
        )


def _read(channel: int, lowered: int) -> None:
    """Read every home as expected within the meter's noise, but the first some 3 dB low."""
    from records.changes import readings
    from records.models import Feed
    from records.queries.levels import lit_at
    from tests.factories import opened

    rng = Random(SEED)
    homes = Feed.objects.filter(channel=channel, point__role="terminal").order_by("point")
    with opened() as change:
        for number, lit in enumerate(lit_at(homes.values_list("point", flat=True))):
            level_dbm = lit.level.typical_dbm + rng.gauss(0, 0.25)
            readings.read(
                change,
                lit.point_id,
                wavelength_nm=1490,
                level_dbm=level_dbm - FAULT_DB * (number < lowered),
            )


def _dense(channel: int) -> Callable[[], Any]:
    """Return the evidence for an extra loss in each stretch, by the whole covariance matrix."""
    import numpy as np

    from records.light.stretches import cut
    from records.models import Feed, Reading
    from records.queries._tree_steps import tree_steps
    from records.queries.levels import lit_at

    homes = list(
        Feed.objects.filter(channel=channel, point__role="terminal").values_list(
            "point", flat=True
        )
    )
    light = {each.point_id: each for each in lit_at(homes)}
    tree = tree_steps(channel, next(iter(light.values())).launch, homes)
    stretches = cut(tree.steps, (tree.ends_at[home] for home in homes))
    latest = {
        each.point_id: each for each in Reading.objects.filter(point__in=homes).order_by("pk")
    }
    passes = np.zeros((len(homes), len(stretches.stretches)))
    for row, home in enumerate(homes):
        passes[row, list(_way(stretches, stretches.ends_at[tree.ends_at[home]]))] = 1
    variances = np.array([each.variance_db2 for each in stretches.stretches])
    missing = np.array(
        [light[home].level.typical_dbm - (latest[home].level_mdbm or 0) / 1000 for home in homes]
    )

    def sums() -> Any:
        covariance = (passes * variances) @ passes.T + np.eye(len(homes)) * 0.07
        solved = np.linalg.solve(covariance, passes)
        return missing @ solved, (passes * solved).sum(axis=0)

    return sums


def _way(stretches: Any, at: int | None) -> Iterable[int]:
    while at is not None:
        yield at
        at = stretches.stretches[at].above


def accuracy() -> None:
    """Print how often the faulty place is first, or among three, beside the simple rule's best."""
    print(f"\nwhere the fault is, over {CASES} random trees each; right at once, among three")
    for part_read, words in ((1.0, "all homes read"), (0.4, "two in five read")):
        for noise_db in NOISES_DB:
            ours, rule = _hits(part_read, noise_db)
            told = " ".join(f"{100 * hits / CASES:3.0f} %" for hits in ours)
            ruled = " ".join(f"{100 * hits / CASES:3.0f} %" for hits in rule)
            print(f"  {words}, noise {noise_db} dB: {told}; the simple rule {ruled}")
    print(f"  a break, two in five read: {_breaks_found()}")


def _hits(part_read: float, noise_db: float) -> tuple[list[int], list[int]]:
    """Return hits at once and among three; those of the rule with what suits it best as low."""
    from records.light.causes import find_causes
    from tests.light.simulated_trees import RULE_LOW_DB, case, places, places_by_rule

    rng = Random(SEED)
    ours, rule = [0, 0], {low_db: [0, 0] for low_db in RULE_LOW_DB}
    for _ in range(CASES):
        each = case(rng, noise_db=noise_db, part_read=part_read)
        ranked = places(find_causes(each.tree.steps, each.readings))
        for at, first in enumerate((1, 3)):
            ours[at] += any(each.fault in place for place in ranked[:first])
            for low_db, hits in rule.items():
                blamed = places_by_rule(each.tree, each.readings, low_db)
                hits[at] += any(each.fault in place for place in blamed[:first])
    return ours, [max(hits[at] for hits in rule.values()) for at in (0, 1)]


def _breaks_found() -> str:
    from records.light.causes import find_causes
    from tests.light.simulated_trees import dark_case

    rng = Random(SEED)
    found = [0, 0]
    for _ in range(CASES):
        each = dark_case(rng, part_read=0.4)
        dead = find_causes(each.tree.steps, each.readings).dead
        for at, first in enumerate((1, 3)):
            found[at] += any(each.fault in one.suspects for one in dead[:first])
    return " ".join(f"{100 * hits / CASES:3.0f} %" for hits in found)


if __name__ == "__main__":
    from tests.bench.database import in_a_database

    in_a_database(report)
