"""The files of a place: what they hold, what they name as left out, and what they never show."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import bookings, cables, equipment, joints, lines, places, readings, tags
from records.changes.refusals import Malformed
from records.handover.exports.files import WHAT, export
from records.handover.exports.tables import BOM, Table, csv_of
from records.intake import meter_file
from records.models import Place
from records.models.tag_code import candidate
from tests.factories import AT, Plant, opened, user

PLANT = """
    olt O x2
    splitter S 1:4
    panel P x2
    cable F 1200 m x2
    cable D1 30 m
    cable D2 30 m
    outlet U1 @1
    outlet U2 @2
    terminal T1 @1
    flat 3
    light O.1 GPON B+
    O.1 = F.1 = P.1 = S
    S.1 = D1 ~ U1 - T1
    S.2 = D2 ~ U2
    book S.3 for 3
    bar S.4 broken tail
"""
FORMULAS = ("=", "+", "-", "@", "\t", "\r")


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def building(plant):
    return Place.objects.get(pk=plant.building)


def file_of(plant, what, *, has_addresses=True):
    return export(building(plant), what, has_addresses=has_addresses)


def rows_of(document):
    """Return the rows of a file as office programs read them, by their headers."""
    text = "".join(document.csv())
    assert text.startswith(BOM)
    return list(csv.DictReader(io.StringIO(text.removeprefix(BOM), newline="")))


def names_left_out(document):
    return {each.what: each.names for each in document.left_out}


def test_homes_have_leg_state_level_verdict_and_reading(plant):
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-9, meter="M1")

    first, second, third = rows_of(file_of(plant, "homes"))

    assert (first["Home"], first["Leg"], first["State"]) == (
        "Flat 1",
        "leg 1 of S (Riser)",
        "live",
    )
    assert first["Light"] == "GPON B+"
    assert first["Verdict"].startswith("too strong: ")
    assert float(first["Expected typical (dBm)"]) > float(first["Expected least (dBm)"])
    assert (first["Last reading (dBm)"], first["Read at (UTC)"]) == ("-9", "2026-03-02 09:30")
    assert (second["Outlet"], second["State"], second["Verdict"]) == ("U2", "no leg", "")
    assert (third["State"], third["Leg"]) == ("held", "leg 3 of S (Riser)")


def test_legs_and_fibres_have_their_conditions(plant):
    with opened() as change:
        bookings.measure(change, plant["S.2"], loss_db=7.25)
        cables.damage(change, plant.id("D2"), fibre=1, why="cut by a digger")

    legs = rows_of(file_of(plant, "legs"))
    fibres = {row["Cable"]: row for row in rows_of(file_of(plant, "cables"))}

    assert [each["Condition"] for each in legs] == ["live", "spare", "held", "barred"]
    assert legs[3]["Why barred"] == "broken tail"
    assert legs[1]["Measured loss (dB)"] == "7.25"
    assert (fibres["D1"]["Condition"], fibres["D2"]["Condition"]) == ("used", "damaged")
    assert fibres["D2"]["Damage"] == "cut by a digger"
    assert fibres["D1"]["B end joined to"] == "back 1 of U1 (Flat 1)"


def test_what_the_sheet_can_not_say_is_named(plant):
    with opened() as change:
        house = places.add(change, kind="house", name="Lodge", parent=plant.building)
        lines.open(change, place=plant.flat("1"))
        bookings.measure(change, plant["S.1"], loss_db=7.25)
        joints.measure(change, plant.joint("U1.1a"), loss_db=0.3)
        equipment.install(change, kind="terminal", place=plant.flat("2"), name="T2")
        assert house.pk

    told = names_left_out(file_of(plant, "sheet"))

    assert told["houses and units, which are taken in as flats"] == ("Lodge",)
    assert "panel P (Riser)" in told["equipment"]
    assert "home terminal T2 (Flat 2)" in told["equipment"]
    assert told["barred legs"] == ("leg 4 of S (Riser): broken tail",)
    assert "leg 1 of S (Riser): 7.25 dB" in told["measured losses"]
    assert any(each.endswith(": 0.3 dB") for each in told["measured losses"])
    assert len(told["further lines of a home"]) == 1
    # The factory lays every cable from riser to building, which no sheet of flats does.
    assert told["cables that end elsewhere"] == ("D1 (ends at Block A)", "D2 (ends at Block A)")


def test_a_leg_that_is_joined_but_not_booked_is_left_out_rather_than_booked(plant):
    rows = {row["Flat"]: row for row in rows_of(file_of(plant, "sheet"))}

    assert (rows["Flat 2"]["Splitter"], rows["Flat 2"]["Cable"]) == ("", "D2")
    joined = names_left_out(file_of(plant, "sheet"))["joints"]
    assert any("leg 2 of S" in each for each in joined)


@pytest.mark.parametrize("what", WHAT)
def test_without_addresses_none_is_in_a_file_or_beside_it(plant, what):
    with opened() as change:
        places.rename(change, plant.flat("1"), name="Zebra Loft")
        places.rename(change, plant.flat("2"), name="Zebra Den")
        places.rename(change, plant.building, name="Zebra House")
        places.rename(change, plant.estate, name="Zebra Park")
        for thing in ("O", "S", "P", "U1", "T1"):
            equipment.rename(change, plant.id(thing), name=f"{thing} for Zebra Loft")
        for thing in ("D1", "F"):
            cables.rename(change, plant.id(thing), name=f"{thing} to Zebra House")
        cables.damage(change, plant.id("F"), fibre=2, why="cut by Zebra Removals")
        bookings.unbar(change, plant["S.4"])
        bookings.bar(change, plant["S.4"], why="Zebra at the door")
        for point in ("T1", "U2.1b", "S.3", "D1.1a"):
            readings.read(
                change, plant[point], wavelength_nm=1490, level_dbm=-19, note="ask at Zebra Loft"
            )

    neutral = file_of(plant, what, has_addresses=False)
    full = file_of(plant, what)

    said = "".join(neutral.csv()) + str(neutral.left_out) + neutral.file_name
    said += str(neutral.assumed)
    assert "Zebra" not in said
    assert "crew" not in said
    assert what == "legs" or "Zebra" in "".join(full.csv())
    assert len(neutral.table.rows) == len(full.table.rows)


@pytest.mark.parametrize("has_addresses", [True, False])
def test_readings_taken_in_again_add_nothing(plant, has_addresses):
    plant.grow("panel Q x2\n cable L 9 m x2\n Q.1 = L.1")
    code = next(filter(None, map(candidate, range(10**9, 10**10, 10**6))))
    with opened() as change:
        tags.issue(change, count=1, candidates=[code])
        tags.bind(change, code, noun="point", thing=plant["S.3"])
        for number, point in enumerate(("T1", "U2.1b", "S.3", "D1.1a", "Q.1b", "L.2b")):
            for at_nm, way in ((1490, "down"), (1310, "up")):
                readings.read(
                    change,
                    plant[point],
                    wavelength_nm=at_nm,
                    direction=way,
                    level_dbm=None if number == 3 else -19.125 - number,
                    uncertainty_db=0.3,
                    meter="=M1",
                    note="-note",
                )
    text = "".join(file_of(plant, "readings", has_addresses=has_addresses).csv())

    plan = meter_file.check(meter_file.read(text.encode()), actor=user(), at=AT)

    assert [str(fault) for fault in plan.faults] == []
    assert len(plan.rows) == 12
    assert plan.is_there_already
    if has_addresses:
        assert {row.reading.note for row in plan.rows} == {"-note"}
        assert {row.reading.meter for row in plan.rows} == {"=M1"}
        assert {row.reading.uncertainty_mdb for row in plan.rows} == {300}


def test_no_cell_of_a_text_is_run_by_a_spreadsheet_program(plant):
    with opened() as change:
        for mark in ("=", "+", "-", "@"):
            name = f"{mark}1+1"
            places.add(change, kind="flat", name=name, parent=plant.building, note=name)
            equipment.rename(change, plant.id("S"), name=name)

    for what in WHAT:
        for row in rows_of(file_of(plant, what)):
            for header, cell in row.items():
                is_figure = cell.replace("-", "", 1).replace(".", "", 1).isdecimal()
                assert is_figure or not cell.startswith(FORMULAS), (what, header, cell)


def test_figures_are_written_plainly_and_texts_guarded():
    table = Table(
        columns=("a", "b"),
        rows=((-18.25, "-18"), (1234567.0, "'=x"), (-0.0001, 'say "a, b"'), (None, "\u2212x")),
    )

    assert "".join(csv_of(table)).removeprefix(BOM).split("\r\n") == [
        "a,b",
        "-18.25,'-18",
        "1234567,''=x",
        '0,"say ""a, b"""',
        ",\u2212x",
        "",
    ]


def test_the_number_of_queries_does_not_grow_with_the_homes(plant):
    counted = []
    plant.grow("splitter W 1:16\n light O.2 GPON B+\n O.2 = F.2 = P.2 = W")
    for first, after in ((10, 12), (12, 24)):
        plant.grow("\n".join(_home(number) for number in range(first, after)))
        with opened() as change:
            for number in range(first, after):
                point = plant[f"U{number}.1b"]
                readings.read(change, point, wavelength_nm=1490, level_dbm=-19, note="n")
        counted.append({what: _queries(plant, what) for what in WHAT})

    few, many = counted
    assert many == few


def _home(number):
    """Return the text of a home on a leg, lit and so booked as built."""
    name = f"D{number} 30 m\n outlet U{number} @{number}\n terminal T{number} @{number}"
    return f"cable {name}\n W.{number - 9} = D{number} ~ U{number} - T{number}"


def _queries(plant, what):
    with CaptureQueriesContext(connection) as queries:
        file_of(plant, what)
    return len(queries)


def test_a_file_that_is_not_known_is_refused_by_name(plant):
    with pytest.raises(Malformed, match="no export 'nothing'") as refused:
        file_of(plant, "nothing")

    assert "sheet, homes, legs" in refused.value.hint
