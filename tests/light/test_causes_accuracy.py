"""How often the faulty element is found, on simulated faults over random trees.

The figures themselves are printed by tests/bench/causes.py; here it is held that the finder beats
the simple rule 'blame the lowest splitter whose legs are all low', whatever the rule calls low.
"""

from random import Random

import pytest

from records.light.causes import find_causes
from records.light.faults import Kind
from tests.light.simulated_trees import (
    DOWN_NM,
    RULE_LOW_DB,
    UP_NM,
    VIDEO_NM,
    case,
    dark_case,
    places,
    places_by_rule,
)

CASES = 80


def found_within(ranked, case, first):
    return any(case.fault in place for place in ranked[:first])


def accuracy(part_read, noise_db, wavelengths=(DOWN_NM,)):
    """Return how often the place is found at once and among three; the same by the rule."""
    rng = Random(20260302)
    ours, rule = [0, 0], {low_db: [0, 0] for low_db in RULE_LOW_DB}
    for _ in range(CASES):
        each = case(rng, noise_db=noise_db, part_read=part_read, wavelengths=wavelengths)
        ranked = places(find_causes(each.tree.steps, each.readings))
        for at, first in enumerate((1, 3)):
            ours[at] += found_within(ranked, each, first)
            for low_db, hits in rule.items():
                blamed = places_by_rule(each.tree, each.readings, low_db)
                hits[at] += found_within(blamed, each, first)
    return ours, rule


@pytest.mark.parametrize("part_read", [1.0, 0.4], ids=["all homes read", "two in five read"])
@pytest.mark.parametrize("noise_db", [0.1, 0.3, 0.5])
def test_the_finder_clearly_beats_the_simple_rule(part_read, noise_db):
    ours, rule = accuracy(part_read, noise_db)

    assert ours[0] > 1.05 * max(at_once for at_once, _ in rule.values())
    assert ours[1] > 1.05 * max(among_three for _, among_three in rule.values())


def test_with_a_bad_meter_the_finder_is_no_worse_than_the_rule_at_its_best():
    ours, rule = accuracy(1.0, 1.0)

    assert ours[0] >= max(at_once for at_once, _ in rule.values())


def test_two_wavelengths_tell_joints_from_bends():
    rng = Random(20260302)
    kinds = []
    for _ in range(CASES):
        each = case(rng, noise_db=0.3, wavelengths=(UP_NM, VIDEO_NM))
        causes = find_causes(each.tree.steps, each.readings)
        if causes.likeliest and each.fault in causes.likeliest[0].suspects:
            kinds.append((causes.likeliest[0].kind == Kind.FIBRE) == each.is_bend)

    assert len(kinds) > 0.8 * CASES
    assert sum(kinds) == len(kinds)


def test_a_break_is_found_by_the_homes_it_darkens():
    rng = Random(20260302)
    hits = 0
    for _ in range(CASES):
        each = dark_case(rng, part_read=0.5)
        causes = find_causes(each.tree.steps, each.readings)
        hits += each.fault in causes.dead[0].suspects

    assert hits > 0.95 * CASES
