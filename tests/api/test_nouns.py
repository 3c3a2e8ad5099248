"""Every noun: its list and detail, filters, order and pages."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api import paging
from api.directory import NOUNS
from api.label_stock import DescribeStock
from api.verbs import SHAPES
from records.models import Figure
from tests.api.asking import told
from tests.factories import entry

SIGN_IN = 1
"""Queries to find the user of the token."""

QUERIES_MAX = SIGN_IN + 7
"""Of a list or a detail: the rows, their number, and what is said beside them."""


FIGURES = SHAPES["catalogue.supersede"].example["figures"]


def a_figure():
    return Figure.objects.order_by("pk")[0].pk


OF_LABELS = {
    "print-runs",
    "printed-labels",
    "hazard-statements",
    "own-stock",
    "printer-offsets",
}


def label_something(api, plant):
    assert api.post("print-runs/blank-tags/", {"count": 2}).status_code == 201
    assert api.post("label-stock/", DescribeStock.example).status_code == 201
    api.do("label_rules.nudge", **SHAPES["label_rules.nudge"].example)
    api.do("hazards.state", **SHAPES["hazards.state"].example | {"place": plant.riser})


def queries_of(ask):
    with CaptureQueriesContext(connection) as captured:
        ask()
    return len(captured)


@pytest.mark.parametrize("noun", NOUNS)
def test_a_list_costs_the_same_queries_whatever_its_length(api, plant, noun):
    api.do("readings.read", point=plant["H"], wavelength_nm=1490, level_dbm=-20)
    api.do("readings.read", point=plant["U.1b"], wavelength_nm=1490, level_dbm=None)
    api.do("tags.issue", count=3)

    short = queries_of(lambda: api.read(f"{noun}/", page_size=1))
    long = queries_of(lambda: api.read(f"{noun}/", page_size=50))

    assert long <= min(short + 1, QUERIES_MAX)  # a one-row page may have nothing to look up


@pytest.mark.parametrize("noun", NOUNS)
def test_a_detail_says_what_the_list_says(api, plant, noun):
    api.do("readings.read", point=plant["H"], wavelength_nm=1490, level_dbm=-20)
    api.do("tags.issue", count=1)
    api.do("jobs.draft", name="Connect flat 3", place=plant.riser)
    api.do("catalogue.confirm", **SHAPES["catalogue.confirm"].example | {"row": a_figure()})
    api.do("catalogue.supersede", entry=entry("fusion", "fusion splice"), figures=FIGURES)

    if noun in OF_LABELS:
        label_something(api, plant)

    listed = api.read(f"{noun}/")["results"][0]
    detail = api.read(f"{noun}/{listed.get('id', listed.get('number'))}/")

    assert listed.items() <= detail.items()
    assert queries_of(lambda: api.read(f"{noun}/{listed.get('id', 1)}/")) <= QUERIES_MAX


def test_no_noun_is_without_a_name_that_the_directory_knows():
    assert set(NOUNS) == {
        "places", "equipment", "ports", "cables", "fibres", "points", "joints", "channels",
        "optical-classes", "catalogue-entries", "colour-schemes", "confirmations", "take-overs",
        "lines", "bookings", "feeds", "readings", "changes", "jobs", "tags", *OF_LABELS,
    }  # fmt: skip


def names(api, noun, **query):
    return [each["name"] for each in api.read(f"{noun}/", **query)["results"]]


def test_places_are_found_by_kind_parent_subtree_and_name(api, plant):
    assert names(api, "places", kind="riser cupboard") == ["Riser"]
    assert names(api, "places", parent=plant.estate, ordering="name") == ["Block A", "Hut"]
    assert names(api, "places", inside=plant.building, kind="flat") == [
        "Flat 1", "Flat 2", "Flat 3",
    ]  # fmt: skip
    assert names(api, "places", name="LOCK") == ["Block A"]
    assert names(api, "places", parent=plant.flat("1")) == []
    assert names(api, "places", ordering="tree")[0] == "Alder Close"


def test_a_place_says_its_address_and_what_is_around_it(api, plant):
    flat = api.read(f"places/{plant.flat('1')}/")

    assert flat["address"] == "Alder Close, Block A, Flat 1"
    assert flat["parent"] == plant.building
    assert flat["is_dwelling"]
    assert api.read(f"places/{plant.estate}/")["parent"] is None


def test_equipment_is_found_by_kind_place_and_subtree(api, plant):
    assert names(api, "equipment", kind="splitter") == ["S", "T"]
    assert names(api, "equipment", place=plant.flat("1")) == ["U", "H"]
    assert names(api, "equipment", inside=plant.building, kind="terminal") == ["H"]


def test_a_splitter_says_how_many_legs_are_left(api, plant):
    counts = api.read(f"equipment/{plant.id('T')}/")["leg_counts"]

    assert counts == {"spare": 5, "held": 1, "live": 1, "onward": 0, "barred": 1, "total": 8}
    assert api.read(f"equipment/{plant.id('O')}/")["leg_counts"] is None


def test_points_are_found_by_owner_role_condition_and_joint(api, plant):
    legs = api.read("ports/", equipment=plant.id("T"), role="leg", condition="barred")["results"]
    assert [(each["name"], each["barred_reason"]) for each in legs] == [
        ("leg 8 of T", "broken tail")
    ]

    ends = api.read("points/", cable=plant.id("D"), number=1, joined="true")["results"]
    assert [each["joined_to_name"] for each in ends] == ["leg 1 of T", "back 1 of U"]
    assert api.read("points/", cable=plant.id("D"), number=2, joined="true")["count"] == 0
    assert api.read("ports/", cable=plant.id("D"))["count"] == 0


def test_a_fibres_condition_follows_from_its_ends_and_damage(api, plant):
    api.do("cables.damage", cable=plant.id("F"), fibre=12, why="crushed")

    fibres = api.read("fibres/", cable=plant.id("F"), ordering="number")["results"]

    assert [each["condition"] for each in fibres] == ["used", *["available"] * 10, "damaged"]
    assert api.read("fibres/", damaged="true")["results"] == [fibres[-1]]
    assert api.read("fibres/", cable=plant.id("D"), number=2)["results"][0]["condition"] == (
        "unterminated"
    )


def test_lengths_and_losses_carry_their_units(api, plant):
    api.do("joints.measure", joint=plant.joint("H"), loss_db=0.31)
    api.do("channels.measure", channel=plant.channel("O.1"), launch_dbm=3.3)

    assert api.read(f"cables/{plant.id('F')}/")["length_m"] == 1200
    assert api.read(f"joints/{plant.joint('H')}/")["measured_loss_db"] == 0.31
    assert api.read("channels/")["results"][0]["measured_launch_dbm"] == 3.3


def test_a_feed_tells_levels_both_ways_as_least_typical_and_most(api, plant):
    (feed,) = api.read("feeds/", point=plant["H"])["results"]

    assert feed["id"] == f"{plant['H']}-{plant.channel('O.1')}"
    assert feed["leg"] == plant["T.1"]
    assert feed["split"] == 32
    for quantity in ("level_dbm", "up_level_dbm", "down_loss_db", "up_loss_db"):
        least, typical, most = (feed[quantity][bound] for bound in ("least", "typical", "most"))
        assert least < typical < most
    assert feed["level_dbm"]["typical"] == pytest.approx(
        feed["launch_dbm"]["typical"] - feed["down_loss_db"]["typical"], abs=0.0011
    )
    assert api.read(f"feeds/{feed['id']}/") == feed


def test_feeds_can_be_walked_and_each_comes_once(api, plant):
    walked, after = [], {}
    while page := api.read("feeds/", page_size=7, **after)["results"]:
        walked += [each["id"] for each in page]
        after = {"after": walked[-1]}

    assert walked == [each["id"] for each in api.read("feeds/", page_size=500)["results"]]
    assert len(walked) > 14


def test_lines_and_bookings_tell_of_each_other(api, plant):
    (line,) = api.read("lines/", place=plant.flat("2"))["results"]
    (booking,) = api.read("bookings/", open="true", state="held")["results"]

    assert line["booking"] == {"id": booking["id"], "leg": plant["T.2"], "state": "held"}
    assert booking["line"] == line["id"]
    assert booking["leg_name"] == "leg 2 of T"
    assert booking["address"] == "Alder Close, Block A, Flat 2"
    assert [each["id"] for each in api.read("lines/", booked="false")["results"]] == [
        plant.line("3")
    ]
    assert api.read("bookings/", equipment=plant.id("T"))["count"] == 2
    assert api.read("bookings/", open="false")["count"] == 0


def test_readings_come_with_their_verdict_and_are_found_by_time(api, plant):
    api.do(
        "readings.read",
        point=plant["H"],
        wavelength_nm=1490,
        level_dbm=-30,
        taken_at="2026-03-01T08:00:00Z",
    )
    api.do("readings.read", point=plant["H"], wavelength_nm=1490, level_dbm=None)

    low, dark = api.read("readings/", point=plant["H"])["results"]

    assert low["verdict"]["outcome"] == "low"
    assert low["verdict"]["difference_db"] < -5
    assert (dark["level_dbm"], dark["verdict"]["outcome"]) == (None, "no light")
    assert low["taken_by"] == "crew"
    assert api.read("readings/", since="2026-03-02")["results"] == [dark]
    assert api.read("readings/", until="2026-03-02T00:00:00Z")["results"] == [low]


def test_catalogue_figures_name_their_source(api, plant):
    (entry,) = api.read("catalogue-entries/", kind="splitter", name="1:4")["results"]
    (fibre, *_) = api.read("catalogue-entries/", kind="fibre")["results"]
    (gpon,) = api.read("optical-classes/", system="gpon", name="B+")["results"]

    assert all(each["source"] and each["confidence"] for each in entry["figures"])
    assert all(each["loss_db"] and not each["attenuation_db_per_km"] for each in entry["figures"])
    assert all(each["attenuation_db_per_km"] for each in fibre["figures"])
    assert [each["direction"] for each in gpon["directions"]] == ["down", "up"]


def test_changes_come_latest_first_and_are_found_by_number_actor_and_verb(api, plant):
    made = api.do("places.rename", place=plant.flat("3"), name="Flat 3A", reason="plate read")
    before = made["number"] - 1

    (change,) = api.read("changes/", since=before, actor="crew", verb="places.rename")["results"]

    assert change["number"] == made["number"]
    assert change["reason"] == "plate read"
    assert change["words"] == made["words"]
    assert api.read("changes/")["results"][0] == change
    assert api.read("changes/", actor="nobody")["count"] == 0
    effect = api.read(f"changes/{made['number']}/")["effect"]
    assert made["effect"] == {**effect, "homes": []}


def test_a_long_change_is_told_in_part_in_the_list_and_whole_in_its_detail(api, plant):
    built = api.read("changes/", verb="several")["results"][0]

    assert len(built["words"]) == 5
    assert len(api.read(f"changes/{built['number']}/")["words"]) == built["step_count"] > 20


def test_tags_are_found_by_code_thing_and_state(api, plant):
    codes = [
        api.read(each["url"].removeprefix("/api/"))["code"]
        for each in api.do("tags.issue", count=3)["things"]
    ]
    api.do("tags.bind", code=codes[0], noun="point", thing=plant["T.2"])
    api.do("tags.void", code=codes[1], why="torn")

    (bound,) = api.read("tags/", point=plant["T.2"])["results"]

    assert (bound["code"], bound["noun"], bound["thing"]) == (codes[0], "point", plant["T.2"])
    assert api.read("tags/", code=codes[0].replace("-", "").lower())["results"] == [bound]
    for state, code in (("bound", codes[0]), ("voided", codes[1]), ("blank", codes[2])):
        assert [each["code"] for each in api.read("tags/", state=state)["results"]] == [code]


def test_a_list_comes_in_pages_that_know_their_neighbours(api, plant):
    whole = api.read("points/", page_size=500)["results"]

    first = api.read("points/", page_size=10)
    second = api.client.get(first["next"], headers=api.headers).json()

    assert first["results"] + second["results"] == whole[:20]
    assert first["previous"] is None
    assert "page" not in second["previous"].partition("?")[2].replace("page_size", "")
    assert (first["count"], first["count_is_exact"]) == (len(whole), True)


def test_a_list_too_long_to_count_says_so_and_is_walked_by_id(api, plant, monkeypatch):
    whole = api.read("points/", page_size=500)["results"]
    monkeypatch.setattr(paging, "COUNTED_MAX", 20)

    page = api.read("points/", page_size=10, page=2)

    assert (page["count"], page["count_is_exact"], page["next"]) == (20, False, None)
    told(api.get("points/", page_size=10, page=3), 400, "bad_query")
    beyond = api.read("points/", page_size=10, after=page["results"][-1]["id"])
    assert beyond["results"] == whole[20:30]


@pytest.mark.parametrize("noun", [noun for noun, view in NOUNS.items() if view.has_past])
def test_every_list_of_what_has_a_history_can_be_asked_as_it_stood(api, plant, noun):
    before = api.read("changes/")["results"][0]["number"]
    then = api.read(f"{noun}/")
    plant.grow("""
        flat 7
        splitter X 1:4
        cable E 10 m
        terminal K @3
        T.3 - K
    """)
    api.do("readings.read", point=plant["K"], wavelength_nm=1490, level_dbm=-20)
    api.do("tags.issue", count=1)

    asked = api.read(f"{noun}/", as_of=before)

    assert asked["results"] == then["results"]
    has_stayed = {"channels", "confirmations", "take-overs", *OF_LABELS}
    assert noun in has_stayed or api.read(f"{noun}/")["count"] > then["count"]


def test_a_removed_thing_can_be_read_as_it_stood(api, plant):
    before = api.read("changes/")["results"][0]["number"]
    api.do("joints.part", joint=(joint := plant.joint("O.1")))

    told(api.get(f"joints/{joint}/"), 404, "missing")
    assert api.read(f"joints/{joint}/", as_of=before)["a"] == plant["O.1"]
