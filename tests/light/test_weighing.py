"""The messages on a tree against the same sums by dense matrices."""

from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from records.light.weighing import Evidence, Sight, Stretch, weigh_each, weigh_together


def random_tree(rng):
    """Return stretches and sights, each leaf seen at least once."""
    stretches = [Stretch(None, (0,), rng.uniform(0.01, 1))]
    stretches += [
        Stretch(rng.randrange(number), (number,), rng.uniform(0.01, 1))
        for number in range(1, rng.randint(2, 25))
    ]
    parents = {each.above for each in stretches}
    leaves = [number for number in range(len(stretches)) if number not in parents]
    seen = leaves + [rng.randrange(len(stretches)) for _ in range(rng.randint(0, 5))]
    sights = [
        Sight(at, rng.gauss(0, 2), rng.uniform(0.01, 1), rng.choice((1.0, 1.0, 0.2)))
        for at in seen
    ]
    return stretches, sights


def on_the_way(stretches, at):
    while at is not None:
        yield at
        at = stretches[at].above


def dense(stretches, sights, within):
    """Return pull and hold of an extra loss in some stretches, by the whole covariance matrix."""
    passes = np.zeros((len(sights), len(stretches)))
    for row, each in enumerate(sights):
        passes[row, list(on_the_way(stretches, each.stretch))] = 1
    variances = np.diag([each.variance_db2 for each in stretches])
    covariance = passes @ variances @ passes.T + np.diag([s.variance_db2 for s in sights])
    shares = np.array([each.share for each in sights])
    lowered = np.where(passes[:, sorted(within)].any(axis=1), shares, 0.0)
    missing = np.array([each.missing_db for each in sights])
    solved = np.linalg.solve(covariance, lowered)
    return missing @ solved, lowered @ solved


@given(seed=st.integers(0, 10_000))
def test_messages_give_what_dense_matrices_give(seed):
    stretches, sights = random_tree(Random(seed))

    for number, evidence in enumerate(weigh_each(stretches, sights)):
        pull, hold = dense(stretches, sights, {number})
        assert evidence.pull == pytest.approx(pull, rel=1e-4, abs=1e-4)
        assert evidence.hold == pytest.approx(hold, rel=1e-4, abs=1e-4)


@given(seed=st.integers(0, 10_000))
def test_several_stretches_weighed_together_give_what_dense_matrices_give(seed):
    rng = Random(seed)
    stretches, sights = random_tree(rng)
    within = set(rng.sample(range(len(stretches)), rng.randint(1, len(stretches))))

    evidence = weigh_together(stretches, sights, within)

    pull, hold = dense(stretches, sights, within)
    assert evidence.pull == pytest.approx(pull, rel=1e-4, abs=1e-4)
    assert evidence.hold == pytest.approx(hold, rel=1e-4, abs=1e-4)


@given(pull=st.floats(-10, 10), hold=st.floats(0.5, 50))
def test_the_odds_are_those_of_all_sizes_weighed_by_a_half_normal(pull, hold):
    evidence = Evidence(pull=pull, hold=hold, outside_db=0.0)

    def weighed(extra_db):
        likelihood = np.exp(pull * extra_db - hold * extra_db**2 / 2)
        return likelihood * stats.halfnorm.pdf(extra_db, scale=4.0)

    peak = evidence.extra_db
    total, _ = integrate.quad(weighed, 0, 60, points=[peak], limit=200)
    assert evidence.log_odds(4.0) == pytest.approx(np.log(total), abs=1e-3)


def test_a_reading_alone_pulls_by_what_it_misses_against_all_that_is_unsure():
    stretches = [Stretch(None, (0,), 0.75)]

    (evidence,) = weigh_each(stretches, [Sight(0, 2.0, 0.25)])

    assert evidence.extra_db == pytest.approx(2.0, abs=1e-3)
    assert evidence.extra_sigma_db == pytest.approx(1.0, abs=1e-3)  # sqrt(0.75 + 0.25)
