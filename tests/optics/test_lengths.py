import pytest

from records.optics.lengths import distance_m, fibre_length_m


def test_a_wrong_index_shortens_the_fibre():
    # Source: computed; 1.475 taken for 1.468 costs 4.8 m a kilometre
    travel_ns = 1000 * 1.468 / 0.299792458

    assert distance_m(travel_ns=travel_ns, group_index=1.468) == pytest.approx(1000)
    assert 1000 - distance_m(travel_ns=travel_ns, group_index=1.475) == pytest.approx(4.8, abs=0.1)


@pytest.mark.parametrize(
    ("travel_ns", "group_index"), [(-1, 1.468), (1, 0.99), (1, 0), (1, float("nan"))]
)
def test_light_is_neither_early_nor_faster_than_in_vacuum(travel_ns, group_index):
    with pytest.raises(ValueError, match=r"group_index is nan|an index of 1 or more"):
        distance_m(travel_ns=travel_ns, group_index=group_index)


def test_a_route_without_slack_is_the_fibre():
    assert fibre_length_m(route_m=120) == 120


@pytest.mark.parametrize(
    ("route_m", "slack_m", "words"),
    [(-1, [], "none is below zero"), (10, [-1], "none is below zero"), (float("nan"), [], "nan")],
)
def test_an_impossible_length_is_refused(route_m, slack_m, words):
    with pytest.raises(ValueError, match=words):
        fibre_length_m(route_m=route_m, slack_m=slack_m)
