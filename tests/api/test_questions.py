"""Questions: find, paths, who hangs below, legs, buildings; now and as it stood."""

from datetime import timedelta
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import joints
from records.queries.find import wrong_code
from tests.api.asking import told
from tests.factories import AT, opened


def test_find_takes_an_address_in_any_word_order(api, plant):
    (first, *_) = api.read("find/", q="1 flat block alder")

    assert (first["noun"], first["id"]) == ("place", plant.flat("1"))
    assert first["title"] == "Alder Close, Block A, Flat 1"
    assert len(api.read("find/", q="alder", limit=2)) == 2


def test_a_wrong_code_is_told_what_is_wrong_with_it_in_the_words_of_the_page(api, plant):
    wrong = "7K3M-9QX7"

    problem = told(api.get("find/", q=wrong), 400, "bad_query")

    (value,) = problem["errors"]
    assert (value["field"], value["value"]) == ("q", wrong)
    assert value["detail"] == wrong_code(wrong)
    assert "its check character does not fit" in value["detail"]
    assert api.read("find/", q="nothing is called so") == []


def test_a_path_tells_each_hop_with_loss_and_level(api, plant):
    told_path = api.read(f"points/{plant['H']}/path/")
    (path,) = told_path["paths"]
    hops = path["hops"]

    assert told_path["dark_way"] is None
    assert told_path["point"]["name"] == "terminal port 1 of H"
    assert (hops[0]["point"], hops[-1]["point"]) == (plant["O.1"], plant["H"])
    assert [hop["by_kind"] for hop in hops].count("splitter") == 2
    assert hops[-1]["level_dbm"] == path["light"]["level_dbm"]
    for above, hop in pairwise(hops):
        step = above["level_dbm"]["typical"] - hop["level_dbm"]["typical"]
        assert step == pytest.approx(hop["loss_db"]["typical"], abs=0.0021)
    assert path["light"]["up_margins"]["above_needed_db"] > 0


def test_a_path_that_is_too_weak_says_so_in_words(api, plant):
    api.do("bookings.measure", leg=plant["T.1"], loss_db=40)

    (path,) = api.read(f"points/{plant['H']}/path/")["paths"]

    faults = {each["fault"] for each in path["light"]["down_verdicts"]}
    assert faults == {"too weak", "out of class"}
    assert path["light"]["down_margins"]["above_needed_db"] < 0


def test_a_dark_point_tells_how_far_up_it_is_joined(api, plant):
    api.do("joints.part", joint=plant.joint("O.1"))

    answer = api.read(f"points/{plant['H']}/path/")

    assert answer["paths"] == []
    assert answer["dark_way"]["leg"] == {"id": plant["T.1"], "name": "leg 1 of T"}


def test_who_goes_dark_is_told_of_a_point_an_equipment_a_cable_and_a_fibre(api, plant):
    for address in (
        f"points/{plant['T.1']}/below/",
        f"equipment/{plant.id('S')}/below/",
        f"cables/{plant.id('F')}/below/",
    ):
        (home,) = api.read(address)
        assert (home["point"], home["address"]) == (plant["H"], "Alder Close, Block A, Flat 1")
        assert not home["keeps_light"]
    assert len(api.read(f"cables/{plant.id('F')}/below/", fibre=1)) == 1
    assert api.read(f"cables/{plant.id('F')}/below/", fibre=2) == []
    assert api.read(f"points/{plant['T.2']}/below/") == []


def test_a_fibre_that_the_cable_has_not_is_refused(api, plant):
    problem = told(api.get(f"cables/{plant.id('F')}/below/", fibre=13), 422, "malformed")

    assert (problem["field"], problem["hint"]) == ("fibre", "Give a number from 1 to 12.")


def test_the_legs_of_a_splitter_tell_condition_line_and_light(api, plant):
    legs = api.read(f"equipment/{plant.id('T')}/legs/")

    assert [leg["condition"] for leg in legs] == ["live", "held", *["spare"] * 5, "barred"]
    assert legs[0]["joined_to_name"].startswith("A end of fibre 1 of D")
    assert legs[1]["line"] == plant.line("2")
    assert legs[0]["light"][0]["level_dbm"]["typical"] < 0
    assert api.read(f"equipment/{plant.id('U')}/legs/") == []


def test_leg_counts_are_told_of_a_place(api, plant):
    counts = api.read(f"places/{plant.building}/leg-counts/")

    assert counts == {"spare": 8, "held": 1, "live": 1, "onward": 1, "barred": 1, "total": 12}


def test_a_building_is_told_by_floors_and_dwellings(api, plant):
    api.do("readings.read", point=plant["H"], wavelength_nm=1490, level_dbm=-20.5)

    building = api.read(f"places/{plant.building}/building/")

    (floor,) = building["floors"]
    assert floor["place"] is None
    first, second, _third = floor["dwellings"]
    assert first["place"]["name"] == "Flat 1"
    assert first["terminals"][0]["reading"]["level_dbm"] == -20.5
    assert first["terminals"][0]["light"][0]["split"] == 32
    assert (second["lines"][0]["state"], second["lines"][0]["leg"]) == ("held", plant["T.2"])
    assert {each["name"] for each in building["splitters"]} == {"S", "T"}
    assert building["leg_counts"]["total"] == 12


def test_a_building_costs_the_same_queries_however_many_live_in_it(api, plant):
    def cost():
        with CaptureQueriesContext(connection) as captured:
            api.read(f"places/{plant.building}/building/")
        return len(captured)

    few = cost()
    plant.grow("""
        terminal K @2
        T.2 - K
        terminal L @3
        T.3 - L
        flat 4
        flat 5
    """)

    assert cost() == few <= 16


def test_any_question_can_be_asked_of_the_past(api, plant):
    lit = api.read("changes/")["results"][0]["number"]
    then = api.read(f"points/{plant['H']}/path/")
    api.do("joints.part", joint=plant.joint("O.1"))

    assert api.read(f"points/{plant['H']}/path/", as_of=lit) == then
    assert api.read(f"points/{plant['H']}/path/")["paths"] == []
    assert len(api.read(f"equipment/{plant.id('O')}/below/", as_of=lit)) == 1
    assert api.read("find/", q="flat 1", as_of=lit)[0]["id"] == plant.flat("1")


def test_the_past_can_be_asked_for_by_time_and_not_the_future(api, plant):
    then = api.read(f"points/{plant['H']}/path/")
    with opened(at=AT + timedelta(days=1)) as change:
        joints.part(change, plant.joint("O.1"))

    assert api.read(f"points/{plant['H']}/path/", as_of="2026-03-02") == then
    assert api.read(f"points/{plant['H']}/path/", as_of="2026-03-03T09:29:59Z") == then
    assert api.read(f"points/{plant['H']}/path/", as_of="2026-03-03")["paths"] == []
    problem = told(api.get("places/", as_of="2999-01-01"), 400, "bad_query")
    assert "that is in the future" in problem["detail"]


@pytest.mark.parametrize(
    "as_of", ["0", "-1", "999999", "abc", "", "1.5", "9" * 40, "²", "2999-01-01"]
)
def test_a_past_that_never_was_is_refused(api, plant, as_of):
    for address in ("places/", f"places/{plant.estate}/", f"places/{plant.estate}/leg-counts/"):
        assert told(api.get(address, as_of=as_of), 400, "bad_query")["field"] == "as_of"


@pytest.mark.parametrize(
    "address",
    ["points/999/path/", "points/999/below/", "equipment/999/below/", "cables/999/below/",
     "equipment/999/legs/", "places/999/leg-counts/", "places/999/building/"],
)  # fmt: skip
def test_a_question_about_what_is_not_there_is_refused(api, plant, address):
    problem = told(api.get(address), 404, "missing")

    assert "number 999" in problem["detail"]
