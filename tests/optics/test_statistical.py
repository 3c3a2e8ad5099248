from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from records.optics.losses import Loss, total_loss
from records.optics.statistical import (
    GRADE_SIGMAS_TO_MOST,
    Estimate,
    estimate_of,
    share_within,
    sigmas_within,
    statistical_loss_db,
    total_estimate,
)
from tests.optics.strategies import chains, losses

sigmas = st.integers(0, 30).map(lambda tenths: tenths / 10)


@given(chains, sigmas)
def test_the_statistical_loss_is_never_more_than_the_worst_case(chain, k):
    assert statistical_loss_db(chain, k=k) <= total_loss(chain).most_db + 1e-9


@given(losses())
def test_one_part_at_three_sigmas_is_its_worst_case(loss):
    assert statistical_loss_db([loss], k=3) == pytest.approx(loss.most_db, abs=1e-9)


@given(chains.flatmap(lambda chain: st.tuples(st.just(chain), st.permutations(chain))))
def test_the_order_of_parts_does_not_matter(chain_and_shuffled):
    chain, shuffled = chain_and_shuffled

    assert statistical_loss_db(chain, k=2) == statistical_loss_db(shuffled, k=2)


@given(chains)
def test_doubling_a_chain_doubles_its_mean_and_grows_its_spread_by_root_two(chain):
    once = total_estimate(map(estimate_of, chain))

    twice = total_estimate(map(estimate_of, chain + chain))

    assert twice.mean_db == pytest.approx(2 * once.mean_db)
    assert twice.sigma_db == pytest.approx(sqrt(2) * once.sigma_db)


@given(losses(), st.integers(1, 128))
def test_what_is_sure_adds_nothing_to_the_spread(loss, extra_db):
    with_sure_part = loss + Loss.exactly(extra_db)

    assert estimate_of(with_sure_part).sigma_db == pytest.approx(
        estimate_of(loss).sigma_db, abs=1e-9
    )


@pytest.mark.parametrize(
    ("mean_db", "limit_db", "sums_db"),
    # Six mated pairs: worst case, mean + 2 sigma, mean + 3 sigma. Source: means and 97 % limits
    # of grades B and C by IEC 61753-1; sums computed apart, with a normal spread.
    [(0.12, 0.25, [1.5, 1.059, 1.228]), (0.25, 0.5, [3.0, 2.151, 2.477])],
)
def test_six_mated_pairs_of_a_grade(mean_db, limit_db, sums_db):
    pair = Loss(least_db=0, typical_db=mean_db, most_db=limit_db)

    six = total_estimate([estimate_of(pair, sigmas_to_most=GRADE_SIGMAS_TO_MOST)] * 6)

    worst_db = total_loss([pair] * 6).most_db
    assert [round(each, 3) for each in (worst_db, six.at_db(2), six.at_db(3))] == sums_db
    sigma_db = (limit_db - mean_db) / norm.ppf(0.97) * sqrt(6)
    assert six.sigma_db == pytest.approx(sigma_db)


@given(st.integers(-80, 80).map(lambda tenths: tenths / 10))
def test_the_share_within_agrees_with_scipy(k):
    assert share_within(k) == pytest.approx(norm.cdf(k), rel=1e-12)


@given(st.floats(0.5, 1 - 1e-9))
def test_the_sigmas_within_agree_with_scipy(share):
    assert sigmas_within(share) == pytest.approx(norm.ppf(share), rel=1e-7, abs=1e-12)


@pytest.mark.parametrize(("k", "percent"), [(1, 84.1), (2, 97.7), (3, 99.87)])
def test_the_usual_sigmas_cover_the_usual_shares(k, percent):
    # Source: one-sided normal, as tables print it
    assert share_within(k) * 100 == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize("share", [0.49, 1, float("nan")])
def test_a_share_without_sigmas_is_refused(share):
    with pytest.raises(ValueError, match=f"share is {share}"):
        sigmas_within(share)


@pytest.mark.parametrize("k", [-0.1, 3.1, float("nan")])
def test_beyond_three_sigmas_the_worst_case_is_the_answer(k):
    with pytest.raises(ValueError, match="use the worst case"):
        statistical_loss_db([], k=k)


@pytest.mark.parametrize("figures", [(-0.1, 0), (0, -0.1), (0, float("nan"))])
def test_an_impossible_estimate_is_refused(figures):
    mean_db, sigma_db = figures

    with pytest.raises(ValueError, match="_db is"):
        Estimate(mean_db=mean_db, sigma_db=sigma_db)
