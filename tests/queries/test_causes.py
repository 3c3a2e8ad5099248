"""Which element of a real tree explains the readings taken on it."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import joints, readings
from records.light.faults import Kind
from records.models import Channel, JointEnd
from records.queries.causes import causes
from records.queries.levels import lit_at
from tests.factories import AT, Plant, opened

pytestmark = pytest.mark.django_db

# Two stages; both second-stage splitters serve four flats over fibres of one riser cable each.
PLANT = """
    olt O
    splitter S 1:4
    splitter S1 1:4
    splitter S2 1:4
    closure K
    cable F 1200 m x12
    cable R1 30 m x4
    cable R2 30 m x4
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 - S1
    S.2 - S2
"""
FLATS = range(1, 9)


def home(flat):
    riser, leg = (1, flat) if flat <= 4 else (2, flat - 4)
    return f"""
        outlet U{flat} @{flat}
        terminal T{flat} @{flat}
        S{riser}.{leg} = R{riser}.{leg} ~ U{flat} - T{flat}
    """


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT + "".join(home(flat) for flat in FLATS)))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def expected_dbm(point, direction="down"):
    (lit,) = lit_at([point])
    return (lit.level if direction == "down" else lit.up_level).typical_dbm


def read(plant, missing_db, *, direction="down", wavelength_nm=1490, at=AT):
    """Read homes that miss so many dB of the typical level; None is no light."""
    with opened(at=at) as change:
        for flat, db in missing_db.items():
            point = plant[flat] if isinstance(flat, str) else plant[f"T{flat}"]
            level_dbm = None if db is None else expected_dbm(point, direction) - db
            readings.read(
                change,
                point,
                wavelength_nm=wavelength_nm,
                direction=direction,
                level_dbm=level_dbm,
                uncertainty_db=0.4,
            )


def found(plant, **options):
    return causes(gpon(plant), **options)


def test_flats_low_together_blame_what_leads_to_their_splitter(plant):
    read(plant, {1: 0.1, 2: -0.2, 3: 0.0, 4: 0.2, 5: 3.1, 6: 3.0, 7: 2.9, 8: 3.2})

    cause = found(plant).steps[0]

    assert cause.kind == Kind.STEP
    assert cause.extra_db == pytest.approx(3.0, abs=0.4)
    assert {"input 1 of S2", "leg 2 of S", "S2"} <= {
        each.name.partition(" (")[0] for each in cause.suspects
    }
    assert cause.suspects[0].kind == "mated"
    assert "clean" in cause.suspects[0].check
    assert [each.name.partition(" (")[0] for each in cause.says_so] == [
        f"terminal port 1 of T{flat}" for flat in (5, 6, 7, 8)
    ]
    assert len(cause.clears) == 4
    assert cause.contradicts == cause.unexplained == ()


def test_one_low_flat_blames_its_own_drop(plant):
    read(plant, dict.fromkeys(FLATS, 0.0) | {3: 4.0})

    answer = found(plant)

    names = {each.name for cause in (answer.steps[0], answer.fibres[0]) for each in cause.suspects}
    assert "fibre 3 of R1" in names
    assert any(name.startswith("back 1 of U3") for name in names)
    assert answer.steps[0].wavelength_hint.startswith("Read at a second wavelength")


def test_dark_flats_blame_the_break_above_them(plant):
    read(plant, dict.fromkeys(FLATS, 0.0) | {5: None, 6: None, 7: None, 8: None})

    (cause, *_) = found(plant).dead

    assert cause.kind == Kind.DEAD
    assert any(each.name.startswith("input 1 of S2") for each in cause.suspects)
    assert len(cause.says_so) == 4
    assert cause.extra_db is None


def test_fibres_of_one_riser_low_together_blame_the_cable(plant):
    read(plant, dict.fromkeys(FLATS, 0.0) | {1: 3.0, 3: 3.0, 4: 3.1})

    cause = found(plant).fibres[0]

    assert [each.name for each in cause.suspects] == ["cable R1 (fibres 1, 3, 4)"]
    assert len(cause.says_so) == 3


def test_two_wavelengths_tell_a_bend(plant):
    """Up, the OLT's report of the home's own 1310 nm light; ITU-T G.657 on bends."""
    read(plant, dict.fromkeys(FLATS, 0.0) | {3: 6.0})
    read(
        plant,
        dict.fromkeys(FLATS, 0.0) | {3: 0.8},
        direction="up",
        wavelength_nm=1310,
    )

    answer = found(plant)

    assert answer.fibres[0].chance > sum(each.chance for each in answer.steps)
    assert "fibre 3 of R1" in {each.name for each in answer.fibres[0].suspects}
    assert "1490 nm" in answer.fibres[0].wavelength_hint
    assert "1310 nm" in answer.fibres[0].wavelength_hint


def read_xgs(plant, missing_db):
    """Read homes at 1577 nm, missing so much of what XGS-PON typically brings there."""
    with opened() as change:
        for flat, db in missing_db.items():
            lits = lit_at([plant[f"T{flat}"]])
            (lit,) = (each for each in lits if each.optical_class.system == "XGS-PON")
            readings.read(
                change,
                plant[f"T{flat}"],
                wavelength_nm=1577,
                level_dbm=lit.level.typical_dbm - db,
                uncertainty_db=0.4,
            )


@pytest.mark.parametrize("launched_low_db", [0.0, 1.4])
@pytest.mark.parametrize("flats", [FLATS, [3]])
def test_a_second_technology_on_the_port_tells_a_bend(plant, flats, launched_low_db):
    """A card may launch anywhere in its class; only what one home misses more is its own."""
    read(plant, dict.fromkeys(FLATS, 0.0) | {3: 2.5})
    plant.grow("light O.1 XGS-PON N1")
    read_xgs(plant, {flat: launched_low_db + (6.0 if flat == 3 else 0.0) for flat in flats})

    answer = found(plant)

    assert answer.read == len(FLATS) + len(flats)
    bend = answer.check_first[0]
    assert bend.kind == Kind.FIBRE
    assert "fibre 3 of R1" in {each.name for each in bend.suspects}
    assert "1577 nm" in bend.wavelength_hint
    assert not answer.further


def test_a_dark_card_of_the_other_technology_is_its_own_tree_s_matter(plant):
    read(plant, dict.fromkeys(FLATS, 0.0))
    plant.grow("light O.1 XGS-PON N1")
    with opened() as change:
        for flat in FLATS:
            readings.read(change, plant[f"T{flat}"], wavelength_nm=1577, level_dbm=None)
    channel = Channel.objects.get(point=plant["O.1"], optical_class__system="XGS-PON").pk

    assert not causes(gpon(plant)).dead
    assert causes(channel).check_first[0].kind == Kind.DEAD


def gpon(plant):
    return Channel.objects.get(point=plant["O.1"], optical_class__system="GPON").pk


def test_a_reading_at_the_splitters_input_narrows_it_down(plant):
    low = dict.fromkeys(FLATS, 0.0) | {5: 3.0, 6: 3.0, 7: 3.0, 8: 3.0}
    read(plant, low | {"S2.in1": 0.0})

    cause = found(plant).steps[0]

    assert [each.name.partition(" (")[0] for each in cause.suspects] == ["S2"]
    assert cause.suspects[0].kind == "splitter"


def test_readings_from_before_the_way_was_worked_on_are_left_out_and_counted(plant):
    read(plant, dict.fromkeys(FLATS, 3.0))
    with opened() as change:
        joint = plant.joint("S2.in1")
        feeding = JointEnd.objects.exclude(point=plant["S2.in1"]).get(joint=joint).point_id
        joints.part(change, joint)
        joints.join(change, feeding, plant["S2.in1"], kind="mated")

    answer = found(plant)

    assert (answer.read, answer.outdated) == (4, 4)


def test_a_better_figure_of_a_joint_leaves_all_readings_weighed(plant):
    read(plant, dict.fromkeys(FLATS, 0.0) | {3: 5.0})
    with opened() as change:
        joints.measure(change, plant.joint("S2.in1"), loss_db=0.3)

    answer = found(plant)

    assert (answer.read, answer.outdated) == (8, 0)
    assert answer.check_first


def test_older_readings_can_be_left_out(plant):
    read(plant, {1: 5.0})
    read(plant, {2: 0.0}, at=AT + timedelta(days=3))

    answer = found(plant, since=AT + timedelta(days=1))

    assert answer.read == 1


def test_only_the_latest_reading_of_a_point_counts(plant):
    read(plant, dict.fromkeys(FLATS, 0.0) | {3: 5.0})
    read(plant, {3: 0.0}, at=AT + timedelta(days=1))

    answer = found(plant)

    assert answer.read == 8
    assert not answer.steps or answer.steps[0].chance < 0.5


def test_without_readings_there_is_nothing_to_tell(plant):
    answer = found(plant)

    assert (answer.steps, answer.fibres, answer.dead, answer.read) == ((), (), (), 0)


def test_the_number_of_queries_does_not_grow_with_the_readings(plant):
    read(plant, {1: 0.0, 2: 4.0})
    found(plant)
    with CaptureQueriesContext(connection) as few:
        found(plant)
    read(plant, {flat: flat % 3 * 2.0 for flat in FLATS})

    with CaptureQueriesContext(connection) as many:
        found(plant)

    assert len(many) <= len(few) <= 11


def test_good_readings_from_before_the_low_ones_are_counted(plant):
    later = AT + timedelta(days=40)
    read(plant, dict.fromkeys(FLATS, 0.0))
    read(plant, {1: 0.1, 5: 6.0, 6: 6.1}, at=later)

    told = found(plant)

    assert (told.older_good, told.newest_low_at) == (2, later)
    assert found(plant, since=later).older_good == 0
