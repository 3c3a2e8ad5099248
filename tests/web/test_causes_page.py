"""What the readings say: candidates by kind with their evidence, and what to check first."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import readings
from records.queries import contents
from records.queries.levels import lit_at
from tests.factories import Plant, opened
from tests.web.reading import main, words

PLANT = """
    olt O
    splitter S 1:4
    splitter S1 1:4
    splitter S2 1:4
    cable F 1200 m x12
    cable R1 30 m x4
    cable R2 30 m x4
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 - S1
    S.2 - S2
"""
FLATS = range(1, 7)


def home(flat):
    riser, leg = (1, flat) if flat <= 3 else (2, flat - 3)
    return f"""
        outlet U{flat} @{flat}
        terminal T{flat} @{flat}
        S{riser}.{leg} = R{riser}.{leg} ~ U{flat} - T{flat}
    """


@pytest.fixture
def plant(db):
    return Plant(PLANT + "".join(home(flat) for flat in FLATS))


def read(plant, missing_db, *, direction="down", wavelength_nm=1490):
    with opened() as change:
        for flat, db in missing_db.items():
            (lit,) = lit_at([plant[f"T{flat}"]])
            expected = lit.level if direction == "down" else lit.up_level
            readings.read(
                change,
                plant[f"T{flat}"],
                wavelength_nm=wavelength_nm,
                direction=direction,
                level_dbm=None if db is None else round(expected.typical_dbm - db, 2),
            )


LOW_BELOW_S2 = {1: 0.1, 2: -0.1, 3: 0.0, 4: 4.0, 5: 4.1, 6: 3.9}


def test_the_splitter_leads_to_it_and_so_does_a_low_reading(crew, plant):
    read(plant, {4: 6.0})

    assert f'href="/causes/equipment/{plant.id("S2")}/"' in main(
        crew.get(f"/equipment/{plant.id('S2')}/")
    )
    assert f'href="/causes/point/{plant["T4"]}/"' in main(crew.get(f"/points/{plant['T4']}/"))
    assert f'href="/causes/place/{plant.building}/"' in main(
        crew.get(f"/places/{plant.building}/")
    )


@pytest.mark.parametrize("noun", ["splitter", "building", "flat", "cable"])
def test_candidates_come_by_kind_with_who_says_so_and_what_to_check_first(crew, plant, noun):
    read(plant, LOW_BELOW_S2)
    address = {
        "splitter": f"/causes/equipment/{plant.id('S2')}/",
        "building": f"/causes/place/{plant.building}/",
        "flat": f"/causes/point/{plant['T4']}/",
        "cable": f"/causes/cable/{plant.id('F')}/",
    }[noun]

    page = words(crew.get(address))

    check_first = page.partition("Check first")[2].partition("Step at one joint A joint")[0]
    assert "Inspect and clean both end faces at" in check_first
    for heading in ("Step at one joint", "Lossy fibre", "Dead leg"):
        assert heading in page
    assert "Says so: 3" in page
    assert "Block A, Flat 5 terminal port 1 of T5" in page
    assert "Clears its neighbours: 3" in page
    assert "Nothing of this kind explains the readings." in page


def test_dark_flats_blame_a_dead_leg(crew, plant):
    read(plant, LOW_BELOW_S2 | {4: None, 5: None, 6: None})

    page = words(crew.get(f"/causes/equipment/{plant.id('S2')}/"))

    assert "Dead leg" in page.partition("Check first")[2][:400]
    assert "no light" in page


def test_a_bend_is_told_by_two_wavelengths_with_its_published_source(crew, plant):
    """ITU-T G.657 limits bends at two wavelengths, more at the longer."""
    low = dict.fromkeys(FLATS, 0.0) | {3: 6.0}
    read(plant, low)
    read(plant, low | {3: 0.8}, direction="up", wavelength_nm=1310)

    page = words(crew.get(f"/causes/point/{plant['T3']}/"))

    assert "More loss at the longer wavelength would be a bend" in page
    assert "(bends: ITU-T G.657, macrobending loss at 1550 and 1625 nm)" in page


def test_good_readings_say_that_nothing_stands_out(crew, plant):
    read(plant, dict.fromkeys(FLATS, 0.0))

    assert "No element stands out" in words(crew.get(f"/causes/equipment/{plant.id('S')}/"))


def test_without_readings_or_light_it_says_what_to_do(crew, plant):
    plant.grow("splitter V 1:4")

    assert "Read some flats" in words(crew.get(f"/causes/equipment/{plant.id('S')}/"))
    assert "No light comes here" in words(crew.get(f"/causes/equipment/{plant.id('V')}/"))
    assert crew.get("/causes/equipment/987654/").status_code == 404
    assert crew.get(f"/causes/line/{plant.line('1')}/").status_code == 404


def test_readings_from_before_a_day_can_be_left_out_and_a_wrong_day_is_told(crew, plant):
    read(plant, LOW_BELOW_S2)
    address = f"/causes/equipment/{plant.id('S2')}/"

    assert "6 readings weighed" in words(crew.get(address, {"since": "2026-03-02"}))
    assert "0 readings weighed" in words(crew.get(address, {"since": "2026-03-03"}))
    for wrong in ("yesterday", "2026-02-30"):
        assert "This is not a date" in words(crew.get(address, {"since": wrong}))


@pytest.mark.parametrize("asks", ["causes", "what-if"])
def test_a_place_too_large_offers_the_places_in_it(crew, plant, monkeypatch, asks):
    monkeypatch.setattr(contents, "LARGE", 3)

    page = crew.get(f"/{asks}/place/{plant.estate}/")

    assert "holds too much to be asked about at once" in words(page)
    assert f'href="/{asks}/place/{plant.building}/"' in main(page)


def test_the_number_of_queries_does_not_grow_with_the_readings(crew, plant):
    address = f"/causes/equipment/{plant.id('S2')}/"
    read(plant, {4: 5.0, 5: 0.0})
    crew.get(address)
    with CaptureQueriesContext(connection) as few:
        crew.get(address)
    read(plant, LOW_BELOW_S2)

    with CaptureQueriesContext(connection) as many:
        crew.get(address)

    assert len(many) <= len(few) <= 26
