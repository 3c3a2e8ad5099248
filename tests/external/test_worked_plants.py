"""A published worked example, built joint by joint and read off the record, both ways.

Source: the rows of tests/optics/data/worked_examples.csv named here, with their addresses there.
"""

import csv
import re
from pathlib import Path

import pytest

from records.changes import bookings, cable_works, cables, catalogue, channels, joints
from records.changes.figures import GivenFigure
from records.queries.explain import explain
from records.queries.levels import lit_at
from tests.factories import Plant, opened

pytestmark = pytest.mark.django_db

DATA = Path(__file__).parents[1] / "optics" / "data" / "worked_examples.csv"


def example(name):
    """Return the numbers of an example's inputs, and the row."""
    with DATA.open(encoding="utf-8") as file:
        row = next(each for each in csv.DictReader(file) if each["id"] == name)
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", row["inputs"])], row


def test_the_course_sheet_s_plant_has_the_level_that_the_sheet_prints():
    numbers, row = example("W2.b")
    launch_dbm, length_m, db_per_km, splices, splice_db, pairs, pair_db, splitter_db = numbers
    fibres = [f"C{n}" for n in range(int(splices) + 1)]
    cords = [f"E{n}" for n in range(int(pairs) - 1)]
    chain = " = ".join([f"O.1 = {' ~ '.join(fibres)}", *cords, "S.in"])
    laid = [f"cable {name} {length_m / len(fibres):.3f} m" for name in fibres]
    laid += [f"cable {name} 1 m" for name in cords]
    plant = Plant("\n".join(["olt O", "splitter S 1:16", "light O.1 GPON B+", *laid, chain]))
    mated = [f"{name}.1a" for name in cords] + ["S.in"]

    with opened(reason="as the sheet has it") as change:
        channels.measure(change, plant.channel("O.1"), launch_dbm=launch_dbm)
        for name in fibres:
            loss_db = db_per_km * length_m / 1000 / len(fibres)
            cables.measure(change, plant.id(name), fibre=1, loss_db=loss_db)
        for name in cords:
            cables.measure(change, plant.id(name), fibre=1, loss_db=0)
        for name in fibres[1:]:
            joints.measure(change, plant.joint(f"{name}.1a"), loss_db=splice_db)
        for point in mated:
            joints.measure(change, plant.joint(point), loss_db=pair_db)
        bookings.measure(change, plant["S.1"], loss_db=splitter_db)

    (lit,) = lit_at([plant["S.1"]])
    computed_dbm = float(row["computed"])
    rounded_db = len(fibres) * 0.0005  # each fibre's loss is kept in thousandths
    for level_dbm in (lit.level.least_dbm, lit.level.typical_dbm, lit.level.most_dbm):
        assert level_dbm == pytest.approx(computed_dbm, abs=rounded_db)
    assert level_dbm == pytest.approx(float(row["published"]), abs=0.005 + rounded_db)
    told = explain(plant["S.1"], plant.channel("O.1"), "down")
    assert told.agrees
    assert all(term.measured or term.note for term in told.terms)


def exactly(value_db, band=(1260, 1675)):
    """Return the figures of a type that loses the same always."""
    return [
        GivenFigure(
            bound=bound,
            wavelength_min_nm=band[0],
            wavelength_max_nm=band[1],
            value_db=value_db,
            source="the exercise",
        )
        for bound in ("least", "typical", "most")
    ]


@pytest.mark.parametrize(("up", "down", "legs"), [("W1.i", "W1.iii", 16), ("W1.ii", "W1.iv", 32)])
def test_a_crew_s_own_types_lose_by_wavelength_what_the_textbook_s_do(up, down, legs):
    (feeder_m, up_db_per_km, drop_m, _, splitter_db), up_row = example(up)
    (_, down_db_per_km, *_), down_row = example(down)
    with opened(reason="the textbook's types") as change:
        fibre = catalogue.add(
            change,
            kind="fibre",
            name="textbook fibre",
            figures=[
                *exactly(up_db_per_km, (1260, 1360)),
                *exactly(down_db_per_km, (1361, 1675)),
            ],
        )
        catalogue.add(
            change,
            kind="splitter",
            name="textbook splitter",
            figures=exactly(splitter_db),
            outputs=legs,
        )
    plant = Plant(
        f"""
        olt O
        splitter S textbook splitter
        cable F {feeder_m} m
        cable D {drop_m} m
        terminal T @1
        light O.1 GPON B+
        O.1 = F = S
        S.1 = D = T
        """
    )

    with opened(reason="as the textbook has it") as change:
        for name, length_m in (("F", feeder_m), ("D", drop_m)):
            cable_works.swap(change, plant.id(name), length_m=length_m, entry=fibre.pk)
        for point in ("S.in", "S.1"):  # the exercise has no joints
            joints.measure(change, plant.joint(point), loss_db=0)

    (lit,) = lit_at([plant["T"]])
    assert lit.up_loss.typical_db == pytest.approx(float(up_row["computed"]), abs=0.001)
    assert lit.down_loss.typical_db == pytest.approx(float(down_row["computed"]), abs=0.001)
    assert (lit.fibre_m, lit.split) == (feeder_m + drop_m, legs)
