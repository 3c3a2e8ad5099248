"""Which element explains the readings, on trees small enough to follow by hand."""

from math import hypot

import pytest

from records.light.causes import find_causes
from records.light.faults import Kind, chances, observed
from records.light.stretches import Step
from records.optics.levels import Level

DOWN_NM, VIDEO_NM, UP_NM = 1490, 1550, 1310

# One 1:4 splitter, below its third leg another 1:4; the riser cable 7 has both middle fibres.
#  0 launch, 1 mated, 2 feeder, 3 splitter
#  leg 4 - mated 5 - drop 6 (home)     leg 7 - mated 8 - drop 9 (home)
#  leg 10 - mated 11 - riser 12 - mated 13 - splitter 14
#      leg 15 - drop 16 (home), leg 17 - drop 18 (home), leg 19 - drop 20 (home)
STEPS = [
    Step(None, "launch", 0.6),
    Step(0, "mated", 0.125),
    Step(1, "fibre", 0.1),
    Step(2, "splitter", 0.2),
    Step(3, "leg", 0.2),
    Step(4, "mated", 0.125),
    Step(5, "fibre", 0.01, 7),
    Step(3, "leg", 0.2),
    Step(7, "mated", 0.125),
    Step(8, "fibre", 0.01, 7),
    Step(3, "leg", 0.2),
    Step(10, "mated", 0.125),
    Step(11, "fibre", 0.01, 8),
    Step(12, "mated", 0.125),
    Step(13, "splitter", 0.2),
    Step(14, "leg", 0.2),
    Step(15, "fibre", 0.01, 9),
    Step(14, "leg", 0.2),
    Step(17, "fibre", 0.01, 9),
    Step(14, "leg", 0.2),
    Step(19, "fibre", 0.01, 9),
]
HOMES = (6, 9, 16, 18, 20)
EXPECTED = Level(least_dbm=-22.0, typical_dbm=-20.0, most_dbm=-18.0)


def read(missing_db, wavelength_nm=DOWN_NM):
    """Return readings of homes that miss so much of the typical level; None is no light."""
    return [
        observed(
            home,
            expected=EXPECTED,
            level_dbm=None if db is None else EXPECTED.typical_dbm - db,
            uncertainty_db=0.3,
            wavelength_nm=wavelength_nm,
        )
        for home, db in missing_db.items()
    ]


def test_low_homes_below_one_splitter_blame_what_leads_to_it_and_good_ones_clear_the_rest():
    causes = find_causes(STEPS, read({6: 0.1, 9: -0.2, 16: 3.1, 18: 2.9, 20: 3.0}))

    likeliest = causes.likeliest[0]
    assert likeliest.kind == Kind.STEP
    assert likeliest.suspects == (13, 11, 14, 10)  # both plugs, the lower first; splitter and leg
    assert likeliest.extra_db == pytest.approx(3.0, abs=0.3)
    assert likeliest.says_so == (2, 3, 4)
    assert likeliest.clears == (0, 1)
    assert likeliest.contradicts == likeliest.unexplained == ()


def test_one_low_home_blames_its_own_drop():
    causes = find_causes(STEPS, read({6: 0.1, 9: 0.0, 16: 0.2, 18: 4.0, 20: 0.1}))

    assert {step for each in causes.likeliest[:2] for step in each.suspects} == {17, 18}
    assert causes.likeliest[0].clears == (2, 4)  # on the same splitter


def test_a_good_home_below_a_candidate_contradicts_it():
    causes = find_causes(STEPS, read({6: 0.1, 9: 0.0, 16: 1.5, 18: 1.4, 20: 0.4}))

    above_the_splitter = next(each for each in causes.steps if 13 in each.suspects)
    assert above_the_splitter.contradicts == (4,)


def test_readings_as_expected_point_nowhere():
    causes = find_causes(STEPS, read({6: 0.1, 9: -0.1, 16: 0.0, 18: 0.2, 20: -0.2}))

    assert sum(each.chance for each in causes.likeliest) < 0.5
    assert causes.dead == causes.further == ()


def test_all_homes_low_by_the_same_blame_the_top():
    causes = find_causes(STEPS, read(dict.fromkeys(HOMES, 6.0)))

    assert causes.likeliest[0].suspects == (1, 0, 3)


def test_more_missing_at_the_longer_wavelength_is_a_bend_the_same_at_both_a_joint():
    """Source: ITU-T G.657 category A; at 1625 nm a bend loses at least twice as at 1550 nm."""
    homes = {6: 0.0, 9: 0.0, 16: 0.0, 20: 0.0}

    bend = find_causes(
        STEPS, [*read({**homes, 18: 4.0}, VIDEO_NM), *read({**homes, 18: 0.4}, UP_NM)]
    )
    joint = find_causes(
        STEPS, [*read({**homes, 18: 4.0}, VIDEO_NM), *read({**homes, 18: 4.1}, UP_NM)]
    )

    assert (bend.likeliest[0].kind, bend.likeliest[0].suspects) == (Kind.FIBRE, (18,))
    assert [nm for nm, _ in bend.likeliest[0].by_wavelength] == [UP_NM, VIDEO_NM]
    assert [db for _, db in bend.likeliest[0].by_wavelength] == pytest.approx([0.4, 4.0], abs=0.2)
    assert (joint.likeliest[0].kind, joint.likeliest[0].suspects) == (Kind.STEP, (17,))


def test_several_fibres_of_one_cable_low_together_blame_the_cable():
    """Drops 6 and 9 are fibres of cable 7 and share no leg."""
    causes = find_causes(STEPS, read({6: 3.0, 9: 3.1, 16: 0.0, 18: 0.1, 20: 0.0}))

    assert causes.likeliest[0].kind == Kind.FIBRE
    assert causes.likeliest[0].suspects == (6, 9)
    assert causes.likeliest[0].says_so == (0, 1)


def test_a_good_fibre_in_the_cable_does_not_clear_the_others():
    """Drops 16, 18 and 20 are fibres of cable 9; the middle one is spared."""
    causes = find_causes(STEPS, read({6: 0.0, 9: 0.1, 16: 3.0, 18: 0.1, 20: 3.2}))

    (cable,) = [each for each in causes.fibres if each.suspects == (16, 20)]
    assert (cable.says_so, cable.contradicts) == ((2, 4), ())
    assert cable == causes.likeliest[0]


def test_dark_homes_blame_the_deepest_break_that_darkens_them_all():
    causes = find_causes(STEPS, read({6: 0.0, 9: 0.1, 16: None, 18: None, 20: None}))

    likeliest = causes.dead[0]
    assert likeliest.kind == Kind.DEAD
    assert likeliest.suspects == (13, 11, 12, 14, 10)
    assert (likeliest.says_so, likeliest.clears) == ((2, 3, 4), (0, 1))
    assert likeliest.extra_db is None


def test_two_faults_in_one_tree_both_come_out():
    causes = find_causes(STEPS, read({6: 0.1, 9: None, 16: 6.0, 18: 0.0, 20: 5.0}))

    assert causes.dead[0].says_so == (1,)
    found = {causes.likeliest[0].says_so, *(each.says_so for each in causes.further)}
    assert {(2,), (4,)} <= found or {(2, 4)} <= found


def test_a_level_below_what_a_meter_shows_is_dark():
    """Source: DARK_DBM in records/optics/readings.py, common practice."""
    (reading,) = read({6: 40.0})

    assert reading.missing_db is None


def test_without_readings_there_is_nothing_to_say():
    causes = find_causes(STEPS, [])

    assert causes.likeliest == causes.dead == causes.further == ()


def test_a_meters_uncertainty_is_two_sigmas():
    """Source: JCGM 100:2008, coverage factor 2; 0.2 dB for remating, common practice."""
    (reading,) = read({6: 1.0})

    assert reading.sigma_db == pytest.approx(hypot(0.3, 0.2) / 2)


def test_chances_of_what_may_be_wrong_and_of_nothing_make_one():
    found = chances([2.0, 0.0, -5.0], [1.0, 4.0, 1.0])

    assert 0 < sum(found) < 1
    assert found[0] > found[1] > found[2]
    # Before any reading, half for nothing and the rest by how often each fails.
    assert chances([0.0, 0.0], [1.0, 3.0]) == pytest.approx([0.125, 0.375])
