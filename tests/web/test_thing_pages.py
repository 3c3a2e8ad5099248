"""The pages of equipment, places, cables and lines."""

import re

import pytest

from records.changes import bookings, cables, joints, places, readings
from records.queries import contents
from records.web import places as place_pages
from tests.factories import Plant, opened
from tests.web.reading import PLANT, main, words


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def test_a_splitter_shows_each_leg_with_its_condition_dwelling_and_joint(crew, plant):
    page = words(crew.get(f"/equipment/{plant.id('S')}/"))

    assert "leg 1 live Alder Close, Block A, Flat 1" in page
    assert "leg 3 held Alder Close, Block A, Flat 3" in page
    assert "leg 4 barred broken tail" in page
    assert "to A end of fibre 1 of D1" in page
    assert "0 spare 1 held 2 live 0 onward 1 barred" in page


def test_a_splitter_offers_the_verb_that_fits_each_leg(crew, plant):
    full = main(crew.get(f"/equipment/{plant.id('S')}/"))
    empty = main(crew.get(f"/equipment/{plant.id('V')}/"))

    assert f"/do/bookings.release/?leg={plant['S.3']}" in full
    assert f"/do/bookings.unbar/?leg={plant['S.4']}" in full
    assert "/do/bookings.book/" not in full
    assert empty.count("/do/bookings.book/") == 4


def test_an_olt_shows_its_channels_and_their_launch(crew, plant):
    plant.grow("light O.1 XGS-PON N1")

    page = words(crew.get(f"/equipment/{plant.id('O')}/"))

    # ITU-T G.984.2 Amendment 1: the class B+ OLT launches 1.5 to 5 dBm.
    assert "GPON B+ , launch 1.50 to 5.00 dBm" in page
    assert "XGS-PON N1" in page
    assert "PON port 2 dark joined to nothing" in page


def test_a_panel_shows_both_faces_and_says_once_that_nothing_is_joined(crew, plant):
    page = words(crew.get(f"/equipment/{plant.id('P')}/"))

    assert "back 1 to B end of fibre 1 of F" in page
    assert "front 1 to input 1 of S" in page
    assert "back 2 and front 2 joined to nothing" in page


def test_a_closure_shows_its_joints_by_tray(crew, plant):
    plant.grow(
        """
        closure K
        cable G 10 m
        cable H 10 m
        cable I 10 m
        G ~ H
        H.1 = I
        """
    )
    with opened() as change:
        a, b = joints.part(change, plant.joint("G.1b"))
        joints.join(change, a, b, kind="fusion", stands_in=plant.id("K"), tray="2", loss_db=0.04)

    page = words(crew.get(f"/equipment/{plant.id('K')}/"))

    assert "Tray 2 B end of fibre 1 of G to A end of fibre 1 of H" in page
    assert "fusion splice, measured 0.04 dB" in page


def test_a_terminal_shows_both_directions_and_its_latest_reading(crew, plant):
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=None)

    page = words(crew.get(f"/equipment/{plant.id('T1')}/"))

    assert "Down, at the terminal" in page
    assert "Up, at the OLT" in page
    assert "nothing no light 1490 nm down, GPON B+" in page


def test_a_building_lists_floors_from_the_top_and_flats_in_natural_order(crew, plant):
    with opened() as change:
        for storey in (0, 2, 1):
            floor = places.add(
                change, kind="floor", name=f"Floor {storey}", parent=plant.building, storey=storey
            )
            for number in (10, 9):
                places.add(change, kind="flat", name=f"Flat {storey}-{number}", parent=floor.pk)

    page = main(crew.get(f"/places/{plant.building}/"))

    assert re.findall(r">(Floor \d)</a>", page) == ["Floor 2", "Floor 1", "Floor 0"]
    assert re.findall(r">(Flat 2-\d+)</a>", page) == ["Flat 2-9", "Flat 2-10"]


def test_a_building_says_first_which_dwellings_to_look_at(crew, plant):
    with opened() as change:
        readings.read(change, plant["T2"], wavelength_nm=1490, level_dbm=None)

    page = main(crew.get(f"/places/{plant.building}/"))

    look_at = page.partition('id="look-at"')[2].partition("</section>")[0]
    assert "Flat 2" in look_at
    assert "no light" in look_at


def test_a_large_building_shows_one_floor_at_a_time(crew, plant, monkeypatch):
    monkeypatch.setattr(place_pages, "ALL_FLOORS_MAX", 2)
    with opened() as change:
        floors = [
            places.add(
                change, kind="floor", name=f"Floor {storey}", parent=plant.building, storey=storey
            ).pk
            for storey in (0, 1)
        ]
        for floor in floors:
            places.add(change, kind="flat", name=f"Flat of {floor}", parent=floor)

    top = main(crew.get(f"/places/{plant.building}/"))
    ground = main(crew.get(f"/places/{plant.building}/", {"floor": floors[0]}))

    assert f"Flat of {floors[1]}" in top
    assert f"Flat of {floors[0]}" not in top
    assert f"Flat of {floors[0]}" in ground


def test_an_estate_lists_its_places_in_pages(crew, plant, monkeypatch):
    monkeypatch.setattr(place_pages, "PAGE_SIZE", 5)
    with opened() as change:
        for number in range(1, 13):
            places.add(change, kind="chamber", name=f"Chamber {number}", parent=plant.estate)

    first = words(crew.get(f"/places/{plant.estate}/"))
    last = words(crew.get(f"/places/{plant.estate}/", {"page": 3}))

    assert "1 to 5 of 14" in first
    assert "Chamber 2 chamber Chamber 3 chamber" in first
    assert "Chamber 12" not in first
    assert "Chamber 12" in last


def test_legs_of_a_large_place_are_counted_only_when_asked_for(crew, plant, monkeypatch):
    monkeypatch.setattr(contents, "LARGE", 1)

    asked = words(crew.get(f"/places/{plant.estate}/", {"count": "legs"}))
    unasked = words(crew.get(f"/places/{plant.estate}/"))

    assert "Count the legs" in unasked
    assert "1 held" not in unasked
    assert "4 spare 1 held 2 live 0 onward 1 barred" in asked


def test_a_dwelling_shows_its_leg_its_light_and_its_line(crew, plant):
    page = words(crew.get(f"/places/{plant.flat('1')}/"))

    assert "live leg 1 of S" in page
    assert "dBm" in page
    assert "Line L" in page


def test_a_cable_shows_every_fibre_with_its_condition_and_ends(crew, plant):
    with opened() as change:
        cables.damage(change, plant.id("F"), fibre=2, why="crushed")

    page = words(crew.get(f"/cables/{plant.id('F')}/"))

    assert "fibre 1 used , carries light" in page
    assert "to PON port 1 of O (Alder Close, Hut)" in page
    assert "fibre 2 damaged crushed" in page


def test_the_page_of_who_goes_dark_comes_whole_or_as_a_part(crew, plant):
    whole = crew.get(f"/below/cable/{plant.id('F')}/")
    part = crew.get(f"/below/cable/{plant.id('F')}/", headers={"HX-Request": "true"})

    assert "Goes dark if it is cut: 2" in words(whole)
    assert "<html" in whole.content.decode()
    assert "Goes dark if it is cut: 2" in words(part)
    assert "<html" not in part.content.decode()


def test_who_goes_dark_is_asked_of_what_light_passes_only(crew, plant):
    assert crew.get(f"/below/place/{plant.building}/").status_code == 404
    assert crew.get("/below/cable/987654/").status_code == 404


def test_a_line_shows_its_leg_and_every_turn_of_its_bookings(crew, plant):
    with opened(reason="moved out") as change:
        bookings.release(change, plant["S.3"])

    page = words(crew.get(f"/lines/{plant.line('3')}/"))

    assert "no leg is booked for it" in page
    assert "released leg 3 of S" in page
    assert "moved out" in page
    assert "held leg 3 of S" in page


@pytest.mark.parametrize("noun", ["places", "equipment", "cables", "lines"])
def test_what_is_not_there_is_told_in_words(crew, plant, noun):
    page = crew.get(f"/{noun}/{10**30}/")

    assert page.status_code == 404
    assert "There is no such" in words(page)


@pytest.mark.parametrize("size", ["1:2", "1:64"])
def test_a_splitter_costs_the_same_queries_whatever_its_size(
    crew, db, django_assert_max_num_queries, size
):
    legs = int(size.partition(":")[2])
    panel = "".join(f"\nB.{number} = Q.{number}" for number in range(1, legs + 1))
    plant = Plant(f"splitter B {size}\npanel Q x{legs}{panel}")

    with django_assert_max_num_queries(16):
        crew.get(f"/equipment/{plant.id('B')}/")


@pytest.mark.parametrize("flats", [1, 30])
def test_a_building_costs_the_same_queries_whatever_its_size(
    crew, db, django_assert_max_num_queries, flats
):
    homes = "".join(
        f"\nterminal T{number} @{number}\nB.{number} - T{number}" for number in range(1, flats + 1)
    )
    plant = Plant(f"olt O\nsplitter B 1:32\nO.1 = B{homes}\nlight O.1 GPON B+")

    with django_assert_max_num_queries(24):
        page = crew.get(f"/places/{plant.building}/")

    assert words(page).count("live leg") >= flats


@pytest.mark.parametrize("fibres", [1, 48])
def test_a_cable_costs_the_same_queries_whatever_its_size(
    crew, db, django_assert_max_num_queries, fibres
):
    joined = "".join(f"\nF.{number} = P.{number}" for number in range(1, fibres + 1))
    plant = Plant(f"cable F 10 m x{fibres}\npanel P x{fibres}{joined}")

    with django_assert_max_num_queries(12):
        crew.get(f"/cables/{plant.id('F')}/")
