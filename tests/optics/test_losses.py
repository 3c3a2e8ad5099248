import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.optics.decibels import ratio_from_db
from records.optics.losses import Attenuation, Loss, ideal_split_db, ideal_tap_db, total_loss
from tests.optics.strategies import chains, losses


@given(losses(), losses())
def test_losses_add_like_with_like(one, other):
    both = one + other

    assert both.least_db == pytest.approx(one.least_db + other.least_db)
    assert both.typical_db == pytest.approx(one.typical_db + other.typical_db)
    assert both.most_db == pytest.approx(one.most_db + other.most_db)


@given(chains.flatmap(lambda chain: st.tuples(st.just(chain), st.permutations(chain))))
def test_the_order_of_parts_does_not_matter(chain_and_shuffled):
    chain, shuffled = chain_and_shuffled

    assert total_loss(chain) == total_loss(shuffled)


def test_an_empty_chain_loses_nothing():
    assert total_loss([]) == Loss.exactly(0)


@given(st.integers(0, 20_000), st.integers(0, 20_000))
def test_fibre_loses_by_its_length(one_m, other_m):
    fibre = Attenuation(least_db_per_km=0.18, typical_db_per_km=0.25, most_db_per_km=0.4)

    whole = fibre.over(one_m + other_m)

    cut = fibre.over(one_m) + fibre.over(other_m)
    assert whole.least_db == pytest.approx(cut.least_db)
    assert whole.typical_db == pytest.approx(cut.typical_db)
    assert whole.most_db == pytest.approx(cut.most_db)


@pytest.mark.parametrize(
    ("legs", "loss_db"),
    # Source: equal division 10·log10 N, to a thousandth of a dB.
    [(2, 3.01), (4, 6.021), (8, 9.031), (16, 12.041), (32, 15.051), (64, 18.062), (128, 21.072)],
)
def test_an_ideal_splitter_only_divides(legs, loss_db):
    assert round(ideal_split_db(legs), 3) == loss_db


@given(st.integers(1, 64), st.integers(1, 64))
def test_cascaded_splitters_divide_as_one_of_their_product(first, second):
    cascade_db = ideal_split_db(first) + ideal_split_db(second)

    assert cascade_db == pytest.approx(ideal_split_db(first * second), abs=1e-9)


@given(st.integers(1, 99))
def test_an_ideal_tap_passes_all_light_to_one_port_or_the_other(share_percent):
    shares = [ideal_tap_db(share_percent), ideal_tap_db(100 - share_percent)]

    assert sum(map(ratio_from_db, shares)) == pytest.approx(1)


def test_an_even_tap_is_a_splitter():
    assert ideal_tap_db(50) == pytest.approx(ideal_split_db(2))


@pytest.mark.parametrize(
    ("least_db", "typical_db", "most_db", "words"),
    [
        (-0.01, 0.1, 0.2, "mean of both directions"),
        (0.2, 0.1, 0.3, "rising order"),
        (0.1, 0.3, 0.2, "rising order"),
        (0.1, 0.2, float("inf"), "the most in dB is inf"),
        (float("nan"), 0.2, 0.3, "the least in dB is nan"),
    ],
)
def test_an_impossible_loss_is_refused(least_db, typical_db, most_db, words):
    with pytest.raises(ValueError, match=words):
        Loss(least_db=least_db, typical_db=typical_db, most_db=most_db)


@pytest.mark.parametrize("length_m", [-1, float("nan")])
def test_an_impossible_length_is_refused(length_m):
    with pytest.raises(ValueError, match="length_m"):
        Attenuation.exactly(0.4).over(length_m)


def test_a_splitter_without_legs_is_refused():
    with pytest.raises(ValueError, match="legs is 0; a splitter has at least 1"):
        ideal_split_db(0)


@pytest.mark.parametrize("share_percent", [0, 101, float("nan")])
def test_a_share_that_no_port_can_have_is_refused(share_percent):
    with pytest.raises(ValueError, match="passes above 0 and at most 1"):
        ideal_tap_db(share_percent)
