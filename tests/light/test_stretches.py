"""Cutting trees where readings tell things apart."""

from random import Random

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.light.stretches import Step, cut

#   0 launch - 1 - 2 splitter - 3 leg - 4 drop (home)
#                             - 5 leg - 6 splitter - 7 leg (home)
#                                                  - 8 leg (home)
STEPS = [
    Step(None, "launch", 0.5),
    Step(0, "fibre", 0.1),
    Step(1, "splitter", 0.2),
    Step(2, "leg", 0.1),
    Step(3, "fibre", 0.1),
    Step(2, "leg", 0.1),
    Step(5, "splitter", 0.2),
    Step(6, "leg", 0.1),
    Step(6, "leg", 0.1),
]


def test_what_no_reading_tells_apart_is_one_stretch():
    found = cut(STEPS, [4, 7, 8])

    assert [each.steps for each in found.stretches] == [(0, 1, 2), (3, 4), (5, 6), (7,), (8,)]
    assert [each.above for each in found.stretches] == [None, 0, 0, 2, 2]


def test_homes_that_were_not_read_cut_nothing():
    found = cut(STEPS, [4, 8])

    assert [each.steps for each in found.stretches] == [(0, 1, 2), (3, 4), (5, 6, 8)]


def test_a_reading_in_the_middle_cuts_there():
    found = cut(STEPS, [1, 4])

    assert [each.steps for each in found.stretches] == [(0, 1), (2, 3, 4)]


def test_a_stretch_is_as_unsure_as_its_steps_together():
    found = cut(STEPS, [4, 7, 8])

    assert found.stretches[0].variance_db2 == pytest.approx(0.5**2 + 0.1**2 + 0.2**2)


@given(seed=st.integers(0, 10_000))
def test_two_steps_are_in_one_stretch_if_and_only_if_the_same_readings_are_below(seed):
    rng = Random(seed)
    steps = [Step(None, "launch", 0.1)]
    steps += [Step(rng.randrange(n), "fibre", 0.1) for n in range(1, rng.randint(2, 40))]
    read = rng.sample(range(len(steps)), rng.randint(1, len(steps)))
    tree = nx.DiGraph([(step.above, n) for n, step in enumerate(steps) if n])
    tree.add_node(0)

    found = cut(steps, read)

    below = {
        step: frozenset({step, *nx.descendants(tree, step)} & set(read))
        for step in range(len(steps))
    }
    stretches = [{below[step] for step in each.steps} for each in found.stretches]
    assert all(len(each) == 1 for each in stretches)
    assert {next(iter(each)) for each in stretches} == {each for each in below.values() if each}
    assert len(stretches) == len({each for each in below.values() if each})
