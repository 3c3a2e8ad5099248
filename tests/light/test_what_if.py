"""Light spread through a supposed plant."""

import pytest

from records.light.losses import NO_LOSS, Band, Entry, LossMdb
from records.light.plant import Joint, Passage, Piece, Spot
from records.light.spread import Channel, source, spread
from records.light.what_if import BRIDGE_ID, ROW_ID, bridge, in_a_row, supposed_feeds

# GPON B+ down and up, middles of the bands of ITU-T G.984.2.
CHANNEL = Channel(1, 10, 1490, 1310)


def flat(number, kind, mdb, outputs=1):
    """Return an entry with one loss at all wavelengths of single-mode fibre."""
    return Entry(number, kind, 1, outputs, (Band(None, 1260, 1625, LossMdb(*mdb)),))


PAIR = flat(1, "mated", (0, 500, 750))
# Planning figures of 1:4 and 1:8: fixtures/catalogue/figures.csv, with their sources there.
BY_4 = flat(2, "splitter", (6021, 6711, 7400), 4)
BY_8 = flat(3, "splitter", (9031, 9866, 10700), 8)
FIVE_DB = flat(4, "attenuator", (4500, 5000, 5500))
ENTRIES = {each.id: each for each in (PAIR, BY_4, BY_8, FIVE_DB)}


def piece(splitter):
    """Return a port mated to a splitter's input, with two legs."""
    spots = [
        Spot(10, "pon"),
        Spot(11, "input", 1, 5, 0),
        Spot(12, "leg", 1, 5, 1),
        Spot(13, "leg", 2, 5, 1),
    ]
    known = {**ENTRIES, splitter.id: splitter}
    return Piece.of(spots, [Passage(5, splitter.id)], [Joint(10, 11, "mated", 1)], known)


def test_with_nothing_supposed_the_feeds_are_those_of_the_record():
    found = supposed_feeds(piece(BY_4), CHANNEL, [12, 13])

    kept = {each.point: each for each in spread(piece(BY_4), CHANNEL, source(CHANNEL)).feeds}
    assert found == {12: kept[12], 13: kept[13]}


def test_another_splitter_divides_and_loses_as_it_does():
    (feed,) = supposed_feeds(piece(BY_8), CHANNEL, [12]).values()

    assert feed.split == 8
    assert feed.down == feed.up == BY_8.loss(1490, 1)


def test_an_attenuator_costs_every_home_the_same_both_ways():
    without = supposed_feeds(piece(BY_4), CHANNEL, [12, 13])

    found = supposed_feeds(piece(BY_4), CHANNEL, [12, 13], attenuator=FIVE_DB)

    for point in (12, 13):
        assert found[point].down == without[point].down.plus(LossMdb(4500, 5000, 5500))
        assert found[point].up == without[point].up.plus(LossMdb(4500, 5000, 5500))


def test_an_attenuator_that_does_not_pass_a_wavelength_leaves_all_dark():
    narrow = Entry(9, "attenuator", 1, 1, (Band(None, 1260, 1360, NO_LOSS),))

    assert supposed_feeds(piece(BY_4), CHANNEL, [12], attenuator=narrow) == {}


def test_splitters_in_a_row_add_up_with_one_pair_between_each_two():
    row = in_a_row([BY_4, BY_8], PAIR, [1490, 1310])

    assert (row.id, row.outputs) == (ROW_ID, 32)
    assert row.loss(1490, 7) == LossMdb(6021 + 9031, 6711 + 500 + 9866, 7400 + 750 + 10700)


def test_one_splitter_in_a_row_is_that_splitter():
    row = in_a_row([BY_8], PAIR, [1490])

    assert (row.outputs, row.loss(1490, 1)) == (8, BY_8.loss(1490, 1))


@pytest.mark.parametrize("nm", [1270, 1577])
def test_a_row_passes_only_what_each_of_it_passes(nm):
    narrow = Entry(9, "splitter", 1, 2, (Band(None, 1290, 1500, LossMdb(1, 2, 3)),))

    assert in_a_row([BY_8, narrow], PAIR, [nm, 1490]).loss(nm, 1) is None


def test_where_a_splitter_is_taken_out_nothing_is_lost_or_divided():
    gone = bridge([1490, 1310])

    (feed,) = supposed_feeds(piece(gone), CHANNEL, [12]).values()

    assert gone.id == BRIDGE_ID
    assert (feed.split, feed.down) == (1, NO_LOSS)
