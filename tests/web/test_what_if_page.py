"""What if: which homes would fail under another class, technology or splitter, and by how much."""

import pytest

from records.models import Change, Place
from records.queries import contents, homes_in_parts
from records.queries.receivers import receivers_in
from records.queries.what_if import Supposition, what_if
from tests.factories import Plant, entry, optical_class
from tests.web.reading import PLANT, main, words

THIRD_HOME = """
    outlet U3 @3
    terminal T3 @3
    cable D3 9 m
    S.3 = D3 ~ U3 - T3
"""


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def place_address(plant):
    return f"/what-if/place/{plant.building}/"


def supposed(plant, **supposing):
    homes = receivers_in(Place.objects.get(pk=plant.building))
    return what_if(homes, Supposition(**supposing))


def test_a_building_and_a_splitter_lead_to_it(crew, plant):
    assert f'href="{place_address(plant)}"' in main(crew.get(f"/places/{plant.building}/"))
    assert f'href="/what-if/equipment/{plant.id("S")}/"' in main(
        crew.get(f"/equipment/{plant.id('S')}/")
    )


def test_homes_that_would_fail_stand_in_a_table_with_by_how_much(crew, plant):
    pattern = entry("splitter", "1:128")
    answer = supposed(plant, pattern=[pattern], optical_class=optical_class("GPON A"))
    assert answer.failing

    page = words(
        crew.get(
            place_address(plant),
            {"first": pattern, "optical_class": optical_class("GPON A")},
        )
    )

    assert f"{answer.failing_home_count} of {answer.home_count} homes would fail" in page
    for outlook in answer.failing:
        assert outlook.receiver.address.rpartition(", ")[2] in page
        assert f"{outlook.short_db:.1f} dB" in page
    assert "too weak" in page


def test_nothing_supposed_is_the_record_as_it_stands(crew, plant):
    page = words(crew.get(place_address(plant)))

    assert "As it stands: nothing is supposed yet." in page


def test_homes_that_the_pattern_has_no_leg_for_are_told(crew, plant):
    plant.grow(THIRD_HOME)

    page = words(crew.get(place_address(plant), {"first": entry("splitter", "1:2")}))

    assert "1 home would be without a leg" in page


def test_one_splitter_alone_can_be_supposed_to_be_another(crew, plant):
    address = f"/what-if/equipment/{plant.id('S')}/"

    page = words(crew.get(address, {"splitter": entry("splitter", "1:64")}))

    assert "As supposed" in page
    assert "This splitter" in page


def test_a_gap_or_half_a_class_is_told_beside_the_field(crew, plant):
    gap = crew.get(place_address(plant), {"second": entry("splitter", "1:8")})
    half = crew.get(place_address(plant), {"instead_of": optical_class("GPON B+")})
    unknown = crew.get(place_address(plant), {"optical_class": "x"})

    assert (gap.status_code, half.status_code, unknown.status_code) == (422, 422, 422)
    assert "Choose the splitters from the first on, without a gap." in words(gap)
    assert "No class is given to take its place. Choose one too." in words(half)
    assert "would fail" not in words(unknown)


def test_nothing_is_recorded(crew, plant):
    before = Change.objects.count()

    crew.get(place_address(plant), {"first": entry("splitter", "1:64")})

    assert Change.objects.count() == before


def test_what_has_no_homes_or_no_what_if_is_told(crew, plant):
    assert "No home here has light" in words(crew.get(f"/what-if/place/{plant.flat('3')}/"))
    assert crew.get(f"/what-if/point/{plant['T1']}/").status_code == 404
    assert crew.get("/what-if/place/987654/").status_code == 404


def test_the_queries_do_not_grow_with_the_homes(crew, plant, django_assert_max_num_queries):
    for more in ("", THIRD_HOME):
        plant.grow(more)
        with django_assert_max_num_queries(35):
            crew.get(place_address(plant), {"first": entry("splitter", "1:64")})


def test_an_estate_answers_for_all_its_buildings_in_parts(crew, plant, monkeypatch):
    plant.grow(THIRD_HOME)
    address = f"/what-if/place/{plant.estate}/"
    pattern = entry("splitter", "1:128")

    whole = words(crew.get(address, {"first": pattern}))
    monkeypatch.setattr(homes_in_parts, "AT_ONCE", 2)
    first = words(crew.get(address, {"first": pattern}))
    latest = crew.get(address, {"first": pattern, "part": 2})

    assert "Homes 1 to" not in whole
    assert all(f"Flat {flat} " in whole for flat in (1, 2, 3))
    assert "Homes 1 to 2 of 3, by address" in first
    assert "Flat 1 " in first
    assert "Flat 3 " not in first
    assert "Homes 3 to 3 of 3" in words(latest)
    assert "Flat 3 " in words(latest)
    assert f'href="?first={pattern}&amp;part=1"' in main(latest)


def test_a_place_too_large_offers_the_places_in_it_with_what_is_supposed(crew, plant, monkeypatch):
    monkeypatch.setattr(contents, "LARGE", 1)

    page = crew.get(f"/what-if/place/{plant.estate}/", {"first": entry("splitter", "1:4")})

    assert "holds too much to be asked about at once" in words(page)
    first = entry("splitter", "1:4")
    assert f'href="/what-if/place/{plant.building}/?first={first}"' in main(page)
