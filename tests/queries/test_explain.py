"""A level told term by term, with where each figure comes from."""

from random import Random

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import bookings, cables, channels, joints
from records.models import Channel, Feed, Figure, JointEnd
from records.optics.statistical import METHOD
from records.queries.explain import explain
from tests.factories import Plant, opened

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S 1:4
    splitter S2 1:8
    cable F 1200 m x12
    cable D 30 m
    outlet U @1
    terminal T @1
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 - S2
    S2.3 = D ~ U - T
"""


@pytest.fixture
def plant():
    return Plant(PLANT)


def told(plant, point="T", direction="down", port="O.1"):
    return explain(plant[point], plant.channel(port), direction)


def stored_mdb(plant, point, direction):
    feed = Feed.objects.get(point=plant[point])
    return [getattr(feed, f"{direction}_{bound}_mdb") for bound in ("least", "typical", "most")]


def in_mdb(loss):
    return [round(each * 1000) for each in (loss.least_db, loss.typical_db, loss.most_db)]


@pytest.mark.parametrize("direction", ["down", "up"])
def test_the_terms_add_up_to_the_stored_level_digit_by_digit(plant, direction):
    explanation = told(plant, direction=direction)

    terms = [in_mdb(term.loss) for term in explanation.terms]
    assert [sum(bound) for bound in zip(*terms, strict=True)] == stored_mdb(plant, "T", direction)
    assert in_mdb(explanation.loss) == stored_mdb(plant, "T", direction)
    assert explanation.agrees


def test_down_ends_at_the_point_and_up_at_the_olt(plant):
    down, up = told(plant), told(plant, direction="up")

    assert down.terms[-1].spot.point_id == plant["T"]
    assert up.terms[-1].spot.point_id == plant["O.1"]
    assert (down.wavelength_nm, up.wavelength_nm) == (1490, 1310)
    assert down.level == down.terms[-1].level == down.lit.level
    assert up.level == up.terms[-1].level == up.lit.up_level


def test_a_launch_is_that_of_its_class_with_its_source(plant):
    """Source: ITU-T G.984.2 Amd 1, class B+: OLT +1.5 to +5 dBm, ONU +0.5 to +5 dBm."""
    down, up = told(plant).launch, told(plant, direction="up").launch

    assert (down.level.least_dbm, down.level.most_dbm) == (1.5, 5)
    assert (up.level.least_dbm, up.level.most_dbm) == (0.5, 5)
    assert down.standard.startswith("ITU-T G.984.2")
    assert down.citation.source
    assert down.measured is None


def test_each_term_shows_the_figures_it_comes_from(plant):
    splitter = next(term for term in told(plant).terms if term.by == "1:8")

    assert {each.bound: each.value_db for each in splitter.figures} == {
        "least": splitter.loss.least_db,
        "typical": splitter.loss.typical_db,
        "most": splitter.loss.most_db,
    }
    assert all(each.citation.source for each in splitter.figures)
    assert all(
        each.wavelength_min_nm <= 1490 <= each.wavelength_max_nm for each in splitter.figures
    )


def test_a_fibres_figures_are_taken_over_its_length(plant):
    feeder = next(term for term in told(plant).terms if term.by_kind == "fibre")

    most = next(each for each in feeder.figures if each.bound == "most")
    assert feeder.length_m == 1200
    assert feeder.loss.most_db == pytest.approx(most.value_db * 1.2, abs=5e-4)


def test_a_pair_that_counts_elsewhere_says_so(plant):
    notes = {term.spot.role: term.note for term in told(plant).terms if term.by_kind == "joint"}

    assert "behind the port's own connector" in notes["terminal"]
    assert "inside the adapter" in next(
        term.note for term in told(plant).terms if term.spot.owner.startswith("CORD") and term.note
    )
    assert not notes["input"]


def test_a_figure_from_memory_makes_its_term_unconfirmed(plant):
    feeder = next(term for term in told(plant).terms if term.by_kind == "fibre")
    splitter = next(term for term in told(plant).terms if term.by == "1:4")

    assert Figure.objects.filter(
        pk__in=[each.figure_id for each in feeder.figures], confidence="memory only"
    ).exists()
    assert feeder.is_unconfirmed
    assert not splitter.is_unconfirmed


def measure_all(plant):
    """Measure a joint, a leg, a fibre's length, another's loss and the port's launch."""
    with opened(reason="test sheets") as change:
        joints.measure(change, plant.joint("S.in"), loss_db=0.21)
        bookings.measure(change, plant["S2.3"], loss_db=9.9)
        cables.measure(change, plant.id("F"), fibre=1, length_m=1234.5)
        cables.measure(change, plant.id("D"), fibre=1, loss_db=0.05)
        channels.measure(change, plant.channel("O.1"), launch_dbm=3.1)
    return change.number


def test_a_measured_value_replaces_all_three_and_names_its_change(plant):
    number = measure_all(plant)

    explanation = told(plant)

    by_point = {term.spot.point_id: term for term in explanation.terms}
    for point, loss_db in (("S.in", 0.21), ("S2.3", 9.9), ("D.1b", 0.05)):
        term = by_point[plant[point]]
        assert in_mdb(term.loss) == [round(loss_db * 1000)] * 3
        assert (term.measured.change_number, term.measured.reason) == (number, "test sheets")
        assert term.figures == ()
    assert explanation.launch.measured.change_number == number
    assert explanation.launch.level.least_dbm == explanation.launch.level.most_dbm == 3.1
    assert explanation.agrees


def test_a_measured_length_is_told_beside_the_catalogues_attenuation(plant):
    number = measure_all(plant)

    feeder = next(term for term in told(plant).terms if term.spot.point_id == plant["F.1b"])

    assert feeder.length_m == 1234.5
    assert feeder.length_measured.change_number == number
    assert feeder.measured is None
    assert feeder.figures


def test_what_was_not_measured_names_no_change(plant):
    assert all(
        term.measured is None and term.length_measured is None for term in told(plant).terms
    )


def test_a_launch_measured_at_the_olt_does_not_count_up(plant):
    measure_all(plant)

    up = told(plant, direction="up")

    assert up.launch.measured is None
    assert up.agrees


def test_the_latest_measurement_is_the_one_that_is_named(plant):
    measure_all(plant)
    with opened(reason="spliced again") as change:
        joints.measure(change, plant.joint("S.in"), loss_db=0.11)

    term = next(term for term in told(plant).terms if term.spot.point_id == plant["S.in"])

    assert term.measured.reason == "spliced again"


def test_best_typical_statistical_and_worst_stand_side_by_side(plant):
    explanation = told(plant)

    best, typical, likely, worst = explanation.cases
    assert [case.name for case in explanation.cases] == [
        "best",
        "typical",
        "statistical",
        "worst",
    ]
    assert best.level_dbm > typical.level_dbm > likely.level_dbm > worst.level_dbm
    assert (best.loss_db, worst.loss_db) == (explanation.loss.least_db, explanation.loss.most_db)
    assert explanation.method == METHOD
    assert "G.957" in explanation.method
    assert explanation.share_within == pytest.approx(0.9772, abs=1e-4)  # one-sided normal, k = 2


def test_the_worst_margin_is_the_verdicts(plant):
    explanation = told(plant)

    margin_db = explanation.lit.down_margins.above_needed_db
    assert explanation.cases[-1].margin_db == pytest.approx(margin_db)


def test_a_dark_point_has_nothing_to_explain(plant):
    assert explain(plant["S2.8"], Channel.objects.get().pk + 1, "down") is None


def test_the_number_of_queries_does_not_grow_with_the_path(plant):
    with CaptureQueriesContext(connection) as short:
        explain(plant["S.in"], plant.channel("O.1"), "down")
    told(plant)  # the cord's entry is known from here on

    with CaptureQueriesContext(connection) as long:
        told(plant)

    assert len(long) <= len(short)
    assert len(long) <= 12


def random_plant(rng):
    """Return a plant with a random chain, measured here and there, and the points it has."""
    splitters = [f"splitter S{n} {rng.choice(('1:2', '1:4', '1:8'))}" for n in range(3)]
    cables_laid = [f"cable C{n} {rng.randint(1, 9000)} m x2" for n in range(6)]
    made = Plant(
        "\n".join(
            [
                "olt O",
                "panel P x4",
                f"attenuator A {rng.choice((1, 3, 5))} dB",
                "coupler W GPON and XG(S)-PON",
                *splitters,
                *cables_laid,
                "outlet U @1",
                "terminal T @1",
                f"light O.1 {rng.choice(('GPON B+', 'GPON C+'))}",
                "O.1 = W.1",
                f"W.com = C0.1 = P.{rng.randint(1, 4)} = C1.2 = S0",
                f"S0.{rng.randint(1, 2)} = C2.1 = S1",
                f"S1.{rng.randint(1, 2)} = A.1 = C3.2 ~ C4.1 = S2",
                f"S2.{rng.randint(1, 2)} = C5.1 ~ U - T",
            ]
        )
    )
    with opened() as change:
        for end in rng.sample(list(JointEnd.objects.all()), 4):
            joints.measure(change, end.joint_id, loss_db=rng.randint(0, 900) / 1000)
        for name in rng.sample([f"C{n}" for n in range(6)], 2):
            cables.measure(change, made.id(name), fibre=1, length_m=rng.randint(1, 9000))
    return made


@pytest.mark.parametrize("seed", range(8))
def test_on_random_plants_every_level_is_explained_digit_by_digit(seed):
    made = random_plant(Random(seed))
    channel = made.channel("O.1")

    for feed in Feed.objects.all():
        for direction in ("down", "up"):
            explanation = explain(feed.point_id, channel, direction)
            assert explanation is not None
            assert explanation.agrees
            assert in_mdb(explanation.loss)[1] == getattr(feed, f"{direction}_typical_mdb")
