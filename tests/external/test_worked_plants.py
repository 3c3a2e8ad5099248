"""A published worked example, built joint by joint and read off the record, both ways.

Source: the rows of tests/optics/data/worked_examples.csv named here, with their addresses there.
"""

import csv
import re
from pathlib import Path

import pytest

from records.changes import bookings, cables, channels, joints
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
