"""Published budgets, worked again. data/worked_examples.csv holds inputs, results and sources."""

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest

from records.optics.classes import bearable_loss_max_db, needed_dbm, power_budget_db
from records.optics.lengths import distance_m, fibre_length_m
from records.optics.levels import Level
from records.optics.losses import Attenuation, Loss, total_loss
from records.optics.statistical import estimate_of, sigmas_within, total_estimate
from records.optics.verdicts import Fault, receiver_verdicts
from tests.optics.catalogue import classes

with (Path(__file__).parent / "data" / "worked_examples.csv").open(encoding="utf-8") as file:
    EXAMPLES = {row["id"]: row for row in csv.DictReader(file)}

PATHS = [name for name in EXAMPLES if re.match(r"W(1|2|3|4|12)\b", name)]
TRAVELS = [name for name in EXAMPLES if name.startswith("W11.")]
B_PLUS = classes()["GPON B+"]

# The window of the exercise W3, which knows no path penalty: -8 to -28 dBm, launch 8 dBm.
W3_DIRECTION = replace(
    B_PLUS.down,
    launch_min_dbm=8.0,
    launch_max_dbm=8.0,
    sensitivity_dbm=-28.0,
    overload_dbm=-8.0,
    penalty_db=0.0,
    loss_min_db=16.0,
    loss_max_db=36.0,
)


def test_all_examples_have_a_source():
    assert len(EXAMPLES) == 18
    assert all(row["source"] and row["confidence"] for row in EXAMPLES.values())


def figures(text):
    """Return all numbers of an example's inputs."""
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]


def part(text):
    """Read one part of a path: a fibre, several alike, or one alone."""
    numbers = figures(text)
    if text.startswith("fibre"):
        return Attenuation.exactly(numbers[1]).over(numbers[0])
    if " of " in text:
        return total_loss([Loss.exactly(numbers[1])] * int(numbers[0]))
    return Loss.exactly(numbers[0])


def path(name):
    """Return the launch (or None) and the loss of an example's path."""
    parts = EXAMPLES[name]["inputs"].split("; ")
    launch = [Level.exactly(*figures(text)) for text in parts if text.startswith("launch")]
    loss = total_loss(part(text) for text in parts if not text.startswith("launch"))
    return (launch[0] if launch else None), loss


def result(name):
    launch, loss = path(name)
    return loss.typical_db if launch is None else (launch - loss).typical_dbm


def as_printed(published):
    """Return the published figure, met within half of its last printed digit."""
    decimals = len(published.partition(".")[2])
    return pytest.approx(float(published), abs=0.5 * 10**-decimals + 1e-12)


@pytest.mark.parametrize("name", PATHS)
def test_a_path_gives_the_level_or_loss_of_its_example(name):
    assert result(name) == pytest.approx(float(EXAMPLES[name]["computed"]), abs=1e-9)


@pytest.mark.parametrize("name", [name for name in PATHS if EXAMPLES[name]["published"]])
def test_a_path_gives_what_was_printed_unless_the_print_is_wrong(name):
    agrees = result(name) == as_printed(EXAMPLES[name]["published"])

    assert agrees is (name != "W12")


@pytest.mark.parametrize(("name", "fault"), [("W3.a", "too strong"), ("W3.b", "too weak")])
def test_a_window_has_two_sides(name, fault):
    launch, loss = path(name)

    verdicts = receiver_verdicts(W3_DIRECTION, level=launch - loss, path_loss=loss)

    # The class of the exercise is its window, so a level outside it is a loss outside it too.
    assert [each.fault for each in verdicts] == [Fault(fault), Fault.OUT_OF_CLASS]


@pytest.mark.parametrize(("name", "direction"), [("W6.a", B_PLUS.down), ("W6.b", B_PLUS.up)])
def test_the_budget_of_class_b_plus(name, direction):
    assert power_budget_db(direction) == float(EXAMPLES[name]["published"])
    assert bearable_loss_max_db(direction) == 28.0  # ITU-T G.984.2 Amd 1: 28 dB, penalty 0.5


def test_a_fibre_is_longer_than_its_route():
    route_m, loops, loop_m, ends, end_m = figures(EXAMPLES["W8.a"]["inputs"])

    length_m = fibre_length_m(route_m=route_m, slack_m=[loop_m] * int(loops) + [end_m] * int(ends))

    assert length_m == float(EXAMPLES["W8.a"]["published"])


def test_error_correction_lowers_and_a_penalty_raises_what_a_receiver_needs():
    rated_dbm, gain_db, penalty_db = figures(EXAMPLES["W9"]["inputs"])

    corrected = replace(B_PLUS.up, sensitivity_dbm=rated_dbm - gain_db, penalty_db=penalty_db)

    assert needed_dbm(corrected) == float(EXAMPLES["W9"]["published"])


def test_ten_connectors_lose_less_than_ten_times_the_worst():
    """The published convolution lies under our normal estimate, and both under the worst case."""
    one_db, ten_low_db, ten_high_db = 1.48, 5.52, float(EXAMPLES["W10"]["published"])
    mean_db = (ten_low_db + ten_high_db) / 2 / 10
    connector = Loss(least_db=0, typical_db=mean_db, most_db=one_db)

    sigmas = sigmas_within(0.99)
    ten = total_estimate([estimate_of(connector, sigmas_to_most=sigmas)] * 10)

    assert ten_high_db < ten.at_db(sigmas) < total_loss([connector] * 10).most_db
    assert total_loss([connector] * 10).most_db == pytest.approx(14.8)


@pytest.mark.parametrize("name", TRAVELS)
def test_time_of_travel_gives_the_distance_of_the_trace(name):
    travel_ns, group_index = figures(EXAMPLES[name]["inputs"])

    distance = distance_m(travel_ns=travel_ns, group_index=group_index)

    km = 1000 if EXAMPLES[name]["unit"] == "km" else 1
    assert distance / km == as_printed(EXAMPLES[name]["published"])
