from dataclasses import replace

import pytest

from records.optics.classes import (
    Misfit,
    bearable_loss_max_db,
    bearable_loss_min_db,
    misfits,
    needed_dbm,
)
from tests.optics.catalogue import classes, direction, rows

B_PLUS = classes()["GPON B+"]

# Directions whose least loss their own powers don't explain: the up direction needs more.
# Down alone would allow 15 dB (C+) and 18 dB (D).
SET_BY_THE_OTHER_WAY = {("GPON", "C+", "down"): 15.0, ("GPON", "D", "down"): 18.0}


def by_name(row):
    return f"{row['system']} {row['class']} {row['direction']}"


@pytest.mark.parametrize("row", rows("classes.csv"), ids=by_name)
def test_the_powers_of_every_direction_give_its_most_loss(row):
    stated = direction(row)

    assert bearable_loss_max_db(stated) == pytest.approx(stated.loss_max_db, abs=1e-9)


@pytest.mark.parametrize("row", rows("classes.csv"), ids=by_name)
def test_the_powers_of_every_direction_but_two_give_its_least_loss(row):
    stated = direction(row)

    key = (row["system"], row["class"], row["direction"])
    expected_db = SET_BY_THE_OTHER_WAY.get(key, stated.loss_min_db)
    assert bearable_loss_min_db(stated) == pytest.approx(expected_db, abs=1e-9)
    assert (expected_db == stated.loss_min_db) is (key not in SET_BY_THE_OTHER_WAY)


def test_forty_two_of_forty_four_directions_close_at_both_ends():
    # XG-PON states one up direction for N2a and N2b, one for E2a and E2b.
    stated = {
        (
            row["system"],
            row["class"].rstrip("ab" if row["direction"] == "up" else ""),
            row["direction"],
        )
        for row in rows("classes.csv")
    }

    assert len(stated) == 44
    assert len(stated - SET_BY_THE_OTHER_WAY.keys()) == 42


@pytest.mark.parametrize("optical_class", classes().values(), ids=classes())
def test_every_class_closes_as_a_whole(optical_class):
    assert misfits(optical_class) == ()


@pytest.mark.parametrize(
    ("name", "way", "sensitivity_dbm", "overload_dbm"),
    # The trap: the OLT's receiver figures get given to the terminal.
    # Source: ITU-T G.984.2 Amd 1 Appendix III (B+), Amd 2 (C+; its up direction from memory).
    [
        ("GPON B+", "down", -27, -8),
        ("GPON B+", "up", -28, -8),
        ("GPON C+", "down", -30, -8),
        ("GPON C+", "up", -32, -12),
    ],
)
def test_each_end_has_its_own_receiver(name, way, sensitivity_dbm, overload_dbm):
    stated = getattr(classes()[name], way)

    assert (stated.sensitivity_dbm, stated.overload_dbm) == (sensitivity_dbm, overload_dbm)


def test_a_receiver_needs_its_sensitivity_and_the_penalty():
    # Source: ITU-T G.Sup39; class B+ down, sensitivity -27 dBm, penalty 0.5 dB
    assert needed_dbm(B_PLUS.down) == -26.5


def test_a_class_that_contradicts_itself_is_told_where():
    swapped = replace(B_PLUS, down=replace(B_PLUS.down, sensitivity_dbm=-28.0))

    assert misfits(swapped) == (
        Misfit(way="down", figure="loss_max_db", stated_db=28.0, computed_db=29.0),
    )


def test_a_least_loss_below_what_the_receiver_bears_is_told_for_both_ways():
    loud = replace(B_PLUS, up=replace(B_PLUS.up, launch_max_dbm=7.0))

    assert misfits(loud) == (
        Misfit(way="down", figure="loss_min_db", stated_db=13.0, computed_db=15.0),
        Misfit(way="up", figure="loss_min_db", stated_db=13.0, computed_db=15.0),
    )


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"penalty_db": -0.5}, "penalty_db is -0.5; give 0 or more"),
        ({"loss_min_db": -1.0}, "loss_min_db is -1.0; give 0 or more"),
        ({"wavelength_min_nm": 1600}, "wavelength_nm: 1600 is above 1500"),
        ({"loss_min_db": 30.0}, "loss_db: 30.0 is above 28.0"),
        ({"launch_min_dbm": 6.0}, "launch_dbm: 6.0 is above 5.0"),
        ({"overload_dbm": -30.0}, "sensitivity and overload: -27.0 is above -30.0"),
        ({"sensitivity_dbm": float("nan")}, "sensitivity_dbm is nan; give a finite number"),
    ],
)
def test_impossible_limits_are_refused(figures, words):
    with pytest.raises(ValueError, match=words):
        replace(B_PLUS.down, **figures)
