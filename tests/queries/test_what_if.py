"""The same homes under another class, splitter or attenuator."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import bookings, channels, joints, places
from records.models import Change, Equipment, Feed, Passage, Place
from records.optics.verdicts import Fault
from records.queries.levels import lit_at
from records.queries.pon_trees import pon_trees
from records.queries.receivers import receivers_below, receivers_from, receivers_in
from records.queries.what_if import NO_SUCH_LEG, Supposition, what_if
from tests.factories import Plant, entry, opened, optical_class

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S {splitter}
    cable F {feeder} m x2
    cable D1 30 m
    cable D2 40 m
    cable D3 50 m
    outlet U1 @1
    outlet U2 @2
    outlet U3 @3
    terminal T1 @1
    terminal T2 @2
    light O.1 {light}
    O.1 = F.1 = S
    S.1 = D1 ~ U1 - T1
    S.2 = D2 ~ U2 - T2
    S.3 = D3 ~ U3
"""


def built(splitter="1:8", light="GPON B+", feeder=1200):
    """Return a plant in an estate of its own, however many there are already."""
    with opened() as change:
        for number, estate in enumerate(Place.objects.filter(kind="estate", name="Alder Close")):
            places.rename(change, estate.pk, name=f"Earlier {number}")
    return Plant(PLANT.format(splitter=splitter, light=light, feeder=feeder))


@pytest.fixture
def plant():
    return built()


def homes(plant):
    return receivers_in(Place.objects.get(pk=plant.building))


def in_scope(plant, **supposing):
    return what_if(homes(plant), Supposition(**supposing))


def figures(lit):
    return (lit.down_loss, lit.up_loss, lit.launch, lit.level, lit.up_level, lit.split)


def test_homes_without_a_terminal_are_judged_at_their_outlet(plant):
    assert [(each.address[-6:], each.name) for each in homes(plant)] == [
        ("Flat 1", "T1"),
        ("Flat 2", "T2"),
        ("Flat 3", "U3"),
    ]


def test_homes_below_a_splitter_are_those_of_its_legs(plant):
    below = receivers_below(Equipment.objects.get(pk=plant.id("S")))

    assert below == homes(plant)
    assert [each.name for each in receivers_from([plant["S.2"]])] == ["T2"]


def test_with_nothing_supposed_each_home_is_as_the_record_says(plant):
    result = in_scope(plant)

    assert [each.then for each in result.outlooks] == [each.now for each in result.outlooks]
    assert not any(each.fails != each.fails_now for each in result.outlooks)


@pytest.mark.parametrize(
    ("splitter", "light"), [("1:4", "GPON B+"), ("1:32", "GPON C+"), ("1:16", "XGS-PON N1")]
)
def test_what_is_supposed_is_what_building_it_gives(plant, splitter, light):
    """Another splitter and class supposed, against a plant built with them."""
    result = in_scope(
        plant,
        optical_class=optical_class(light),
        splitters={plant.id("S"): entry("splitter", splitter)},
    )

    other = built(splitter, light)
    really = {each.point_id: each for each in lit_at([other["T1"], other["T2"], other["U3.1b"]])}
    for outlook, point in zip(
        result.outlooks, (other["T1"], other["T2"], other["U3.1b"]), strict=True
    ):
        assert figures(outlook.then) == figures(really[point])


def test_a_home_fails_by_as_much_as_its_level_misses():
    """Class B+ needs -27 dBm and 0.5 dB of penalty: ITU-T G.984.2 Amd 1."""
    far = built(feeder=20_000)

    result = in_scope(far, splitters={far.id("S"): entry("splitter", "1:128")})

    assert len(result.failing) == 3
    worst = result.failing[0]
    weak = next(each for each in worst.verdicts if each.fault == Fault.TOO_WEAK)
    assert weak.limit == -26.5
    assert weak.excess == pytest.approx(-26.5 - worst.then.level.least_dbm)
    assert worst.short_db >= weak.excess
    assert [each.short_db for each in result.failing] == sorted(
        (each.short_db for each in result.failing), reverse=True
    )


def test_a_short_run_under_a_strong_class_is_cured_by_an_attenuator():
    """GPON C+ launches up to +7 dBm, overload -8 dBm: 15 dB of loss needed (ITU-T G.984.2)."""
    short = built(splitter="1:4", feeder=10)

    strong = in_scope(short, optical_class=optical_class("GPON C+"))
    cured = in_scope(
        short, optical_class=optical_class("GPON C+"), attenuator=entry("attenuator", "15 dB")
    )

    assert all(
        Fault.TOO_STRONG in {verdict.fault for verdict in each.verdicts}
        for each in strong.outlooks
    )
    assert not cured.failing


def test_a_home_whose_leg_does_not_exist_stays_dark(plant):
    result = in_scope(plant, splitters={plant.id("S"): entry("splitter", "1:2")})

    (dark,) = [each for each in result.outlooks if each.then is None]
    assert dark.receiver.name == "U3"
    assert dark.why_dark == NO_SUCH_LEG
    assert result.failing[0] == dark


def test_a_class_that_a_coupler_keeps_out_leaves_the_homes_dark():
    plant = Plant(
        """
        olt O
        coupler W GPON and XG(S)-PON
        splitter S 1:4
        terminal T @1
        light O.1 GPON B+
        O.1 = W.1
        W.com = S
        S.1 - T
        """
    )

    result = in_scope(plant, optical_class=optical_class("XGS-PON N1"))

    (home,) = result.outlooks
    assert home.fails
    assert "1577" in home.why_dark


def test_a_pattern_stands_for_all_splitters_on_a_way(plant):
    """Two stages of 1:4 and 1:8 against a plant built so, where only the riser differs."""
    result = in_scope(plant, pattern=[entry("splitter", "1:4"), entry("splitter", "1:8")])

    loss = result.outlooks[0].then.down_loss
    # Typical losses of 1:4, one mated pair and 1:8 for those of 1:8: fixtures/catalogue/.
    assert loss.typical_db == pytest.approx(
        result.outlooks[0].now.down_loss.typical_db + 6.711 + 0.5
    )
    assert result.outlooks[0].then.split == 32


def test_a_pattern_takes_the_second_stage_of_two_away():
    plant = Plant(
        """
        olt O
        splitter S 1:4
        splitter S2 1:8
        terminal T @1
        light O.1 GPON B+
        O.1 = S
        S.1 = S2
        S2.1 - T
        """.replace("S.1 = S2", "S.1 - S2")
    )

    result = in_scope(plant, pattern=[entry("splitter", "1:32")])

    (home,) = result.outlooks
    # 1:32 typical 16.6 for 6.711 + 9.866 dB; what joins the second stage stays.
    assert home.then.down_loss.typical_db == pytest.approx(
        home.now.down_loss.typical_db - 6.711 - 9.866 + 16.6
    )
    assert home.then.split == 32


def test_a_pattern_with_too_few_legs_says_how_many_are_short(plant):
    result = in_scope(plant, pattern=[entry("splitter", "1:2")])

    assert [port.legs_short for port in result.ports] == [1]


def test_a_measured_leg_goes_with_the_splitter_that_is_replaced(plant):
    with opened() as change:
        bookings.measure(change, plant["S.1"], loss_db=9.5)

    same = in_scope(plant, splitters={plant.id("S"): entry("splitter", "1:8")})

    assert same.outlooks[0].now.down_loss != same.outlooks[0].then.down_loss
    assert same.outlooks[1].now == same.outlooks[1].then


def test_a_measured_launch_holds_only_for_the_class_it_was_measured_of(plant):
    with opened() as change:
        channels.measure(change, plant.channel("O.1"), launch_dbm=4.5)

    kept = in_scope(plant, attenuator=entry("attenuator", "5 dB")).outlooks[0]
    changed = in_scope(plant, optical_class=optical_class("GPON C+")).outlooks[0]

    assert kept.then.launch.least_dbm == kept.then.launch.most_dbm == 4.5
    # Class C+: OLT +3 to +7 dBm, ITU-T G.984.2.
    assert (changed.then.launch.least_dbm, changed.then.launch.most_dbm) == (3, 7)


def test_only_the_channels_of_one_class_change_where_so_asked(plant):
    plant.grow("light O.1 XGS-PON N1")

    result = in_scope(
        plant, optical_class=optical_class("GPON C+"), instead_of=optical_class("GPON B+")
    )

    names = {(each.now.name, each.then.name) for each in result.outlooks}
    assert names == {("GPON B+", "GPON C+"), ("XGS-PON N1", "XGS-PON N1")}


def test_nothing_is_written(plant):
    before = (Change.objects.count(), list(Feed.objects.values_list()), Passage.objects.count())

    in_scope(plant, optical_class=optical_class("GPON C+"), pattern=[entry("splitter", "1:32")])

    assert before == (
        Change.objects.count(),
        list(Feed.objects.values_list()),
        Passage.objects.count(),
    )


def test_the_number_of_queries_does_not_grow_with_the_homes(plant):
    in_scope(plant, splitters={plant.id("S"): entry("splitter", "1:32")})
    with CaptureQueriesContext(connection) as few:
        in_scope(plant, splitters={plant.id("S"): entry("splitter", "1:32")})
    plant.grow(
        """
        cable D4 60 m
        outlet U4 @4
        terminal T4 @4
        S.4 = D4 ~ U4 - T4
        """
    )

    with CaptureQueriesContext(connection) as many:
        in_scope(plant, splitters={plant.id("S"): entry("splitter", "1:32")})

    assert len(many) == len(few)


def test_a_tree_is_judged_from_its_nearest_to_its_furthest_home(plant):
    """Differential reach 20 km: ITU-T G.984.1 (the figure from memory)."""
    plant.grow(
        """
        cable D4 21000 m
        terminal T4 @4
        S.4 = D4 = T4
        """
    )

    (tree,) = pon_trees([plant.channel("O.1")])

    assert (tree.terminals, tree.split) == (3, 8)
    assert tree.furthest.fibre_m == 1200 + 21_000
    assert tree.nearest.fibre_m == pytest.approx(1200 + 30 + 2)  # the nearest drop and its cord
    assert tree.apart_m == 21_000 - 32
    faults = {verdict.fault for verdict in tree.verdicts()}
    assert faults == {Fault.DIFFERENTIAL_REACH, Fault.OUT_OF_REACH}


def test_a_tree_without_terminals_has_nothing_to_judge(plant):
    with opened() as change:
        for terminal in ("T1", "T2"):
            joints.part(change, plant.joint(terminal))

    (tree,) = pon_trees([plant.channel("O.1")])

    assert (tree.terminals, tree.nearest, tree.apart_m, tree.verdicts()) == (0, None, None, ())
