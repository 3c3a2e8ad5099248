"""What a form offers for choice, by words and from close by."""

import pytest

from records.changes import bookings, places
from records.models import Line
from records.queries.near import beside, housings, spare_legs_for, unbooked_lines_near
from records.queries.options import look_up, option
from records.queries.point_options import points_by_id
from tests.factories import Plant, opened

pytestmark = pytest.mark.django_db

PLANT = """
    olt O
    splitter S 1:4
    splitter T 1:8
    closure K
    panel P x2
    cable D 30 m x2
    cable B 30 m
    outlet U @1
    flat 2
    light O.1 GPON B+
    O.1 = S
    S.1 = T
    book T.2 for 1
    bar T.3 broken tail
    B ~ U
"""


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def ids(found):
    return [each.id for each in found]


def test_a_port_is_found_by_owner_and_number(plant):
    assert ids(look_up("point", "S leg 3"))[0] == plant["S.3"]


def test_both_ends_of_a_fibre_are_offered(plant):
    assert ids(look_up("point", "D fibre 2"))[:2] == [plant["D.2a"], plant["D.2b"]]


def test_the_ports_of_an_equipment_are_offered_free_ones_first(plant):
    offered = ids(look_up("point", "S"))

    assert {plant["S.in"], plant["S.1"], plant["S.2"]} <= set(offered)
    assert offered.index(plant["S.2"]) < offered.index(plant["S.in"])


def test_what_stands_in_a_place_is_offered(plant):
    offered = ids(look_up("point", "flat 1"))

    assert plant["U.1b"] in offered


def test_only_points_of_the_wanted_kind_are_offered(plant):
    assert set(ids(look_up("leg", "Block A"))) <= {
        plant[f"{owner}.{number}"]
        for owner, most in (("S", 4), ("T", 8))
        for number in range(1, most + 1)
    }
    assert ids(look_up("PON port", "O")) == [plant["O.1"]]


def test_a_flat_stands_for_its_line_and_its_dwelling(plant):
    assert ids(look_up("line", "flat 2")) == [plant.line("2")]
    assert ids(look_up("dwelling", "flat 2")) == [plant.flat("2")]
    assert look_up("dwelling", "riser") == []


def test_a_joint_is_found_by_its_points(plant):
    assert plant.joint("S.in") in ids(look_up("joint", "S input 1"))


def test_a_channel_is_found_by_its_port(plant):
    assert ids(look_up("channel", "O")) == [plant.channel("O.1")]


def test_an_option_says_what_a_leg_is_promised_for_and_its_level(plant):
    held, barred = option("leg", plant["T.2"]), option("leg", plant["T.3"])

    assert held.title == "leg 2 of T"
    assert held.where == "Alder Close, Block A, Riser"
    assert held.detail.startswith("APC, held for Flat 1")
    assert held.level_dbm is not None
    assert "barred: broken tail" in barred.detail


def test_an_option_says_what_a_point_is_joined_to(plant):
    assert "joined to input 1 of T" in option("point", plant["S.1"]).detail
    assert "free, leads to Block A" in option("point", plant["D.1a"]).detail


def test_what_does_not_exist_is_no_option():
    assert option("point", 4711) is None
    assert look_up("point", "nothing of the kind") == []


def test_free_points_beside_a_point_are_offered_fitting_ends_first(plant):
    offered = beside(plant["S.2"])

    assert plant["D.1a"] in offered
    assert plant["S.1"] not in offered
    assert plant["T.1"] not in offered
    polishes = [points_by_id([pk])[pk].polish for pk in offered]
    assert polishes == sorted(polishes, key=lambda polish: polish != "APC")


def test_closures_and_panels_beside_a_point_are_offered_to_house_its_joint(plant):
    assert housings(plant["S.2"]) == [plant.id("K"), plant.id("P")]


def test_spare_legs_near_a_dwelling_are_offered_those_behind_more_splits_first(plant):
    offered = spare_legs_for(plant.line("2"))

    assert offered[0] == plant["T.1"]
    assert plant["T.2"] not in offered
    assert plant["T.3"] not in offered
    assert offered[-1] == plant["S.4"]


def test_lines_without_a_leg_near_a_splitter_are_offered(plant):
    assert unbooked_lines_near(plant["T.1"]) == [plant.line("2")]


def test_looking_up_without_scripts_shows_what_was_found_to_choose(crew, plant):
    page = crew.get("/do/joints.join/", {"a": plant["S.2"]})
    answer = crew.post(
        "/do/joints.join/",
        {
            "token": page.context["token"],
            "a": plant["S.2"],
            "b-words": "D fibre 1",
            "kind": "mated",
            "reason": "job 5",
            "check": "on",
        },
    )

    body = answer.content.decode()
    assert answer.status_code == 200
    assert f'name="b" value="{plant["D.1a"]}">' in body
    assert 'value="job 5"' in body
    assert 'value="D fibre 1"' in body


def test_a_page_costs_no_queries_in_proportion_to_what_it_offers(
    crew, plant, django_assert_max_num_queries
):
    plant.grow("panel R x12\nsplitter V 1:32")

    with django_assert_max_num_queries(45):
        crew.get("/do/joints.join/", {"a": plant["S.2"]})


def test_a_splitter_that_serves_the_floor_comes_first(plant):
    with opened() as change:
        floor = places.add(change, kind="floor", name="Floor 5", parent=plant.building)
        flats = [
            places.add(change, kind="flat", name=name, parent=floor.pk).pk for name in ("51", "52")
        ]
        there, wanted = (Line.objects.get(place=flat).pk for flat in flats)
        bookings.book(change, plant["S.2"], line=there)

    assert spare_legs_for(wanted)[:2] == [plant["S.3"], plant["S.4"]]
