"""Questions about light: the explanation of a level, its picture, common causes, what-if."""

from xml.etree import ElementTree as ET

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.queries import homes_in_parts
from records.queries.explain import explain
from tests.api.asking import told
from tests.factories import entry, optical_class


def test_a_level_explains_itself_both_ways(api, plant):
    down, up = api.read(f"points/{plant['H']}/explanation/")

    assert (down["direction"], up["direction"]) == ("down", "up")
    expected = explain(plant["H"], plant.channel("O.1"), "down")
    assert [term["by"] for term in down["terms"]] == [term.by for term in expected.terms]
    total = sum(term["loss_db"]["typical"] for term in down["terms"])
    assert total == pytest.approx(down["loss_db"]["typical"], abs=0.001)
    assert {case["name"] for case in down["cases"]} == {
        "best", "typical", "statistical", "worst",
    }  # fmt: skip
    assert down["agrees"]
    assert down["method"] == expected.method
    assert down["margins"]["above_needed_db"] == down["cases"][-1]["margin_db"]


def test_each_term_names_its_sources_and_what_was_measured_names_its_change(api, plant):
    made = api.do("bookings.measure", leg=plant["T.1"], loss_db=10.2)

    (down,) = api.read(f"points/{plant['H']}/explanation/", direction="down")

    by_point = {term["point"]: term for term in down["terms"]}
    leg = by_point[plant["T.1"]]
    assert (leg["figures"], leg["measured"]["change"]) == ([], made["number"])
    for term in down["terms"]:
        assert term["figures"] or term["measured"] or term["note"]
        assert all(figure["citation"]["source"] for figure in term["figures"])
    assert any(term["is_unconfirmed"] for term in down["terms"])


def test_a_confirmed_figure_is_unconfirmed_no_more(api, plant):
    (down,) = api.read(f"points/{plant['H']}/explanation/", direction="down")
    figure = next(
        each
        for term in down["terms"]
        for each in term["figures"]
        if each["citation"]["is_unconfirmed"]
    )

    api.do("catalogue.confirm", noun="figure", row=figure["id"], edition="11/2016", table="2")

    (down,) = api.read(f"points/{plant['H']}/explanation/", direction="down")
    told_now = next(
        each for term in down["terms"] for each in term["figures"] if each["id"] == figure["id"]
    )
    assert told_now["citation"]["confirmed"]["edition"] == "11/2016"
    assert not told_now["citation"]["is_unconfirmed"]


def test_a_dark_point_has_nothing_to_explain_and_no_picture(api, plant):
    api.do("joints.part", joint=plant.joint("O.1"))

    assert api.read(f"points/{plant['H']}/explanation/") == []
    told(api.get(f"points/{plant['H']}/picture/"), 422, "malformed")


@pytest.mark.parametrize("along", ["hops", "distance"])
def test_the_picture_is_a_file_that_needs_nothing_beside_it(api, plant, along):
    answer = api.get(f"points/{plant['H']}/picture/", along=along)

    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "image/svg+xml; charset=utf-8"
    svg = ET.fromstring(answer.content)  # noqa: S314 (our own)
    assert svg.tag == "{http://www.w3.org/2000/svg}svg"
    assert "GPON B+" in str(svg.findtext("{http://www.w3.org/2000/svg}title"))
    assert svg.find("{http://www.w3.org/2000/svg}style") is not None


def test_a_problem_of_a_picture_is_still_told_as_a_problem(api, plant):
    assert told(api.get("points/999/picture/"), 404, "missing")
    assert told(api.get(f"points/{plant['H']}/picture/", along="sideways"), 400, "bad_query")


def low(api, plant, missing_db):
    """Read the home so many dB under what is expected."""
    (path,) = api.read(f"points/{plant['H']}/path/")["paths"]
    level_dbm = path["light"]["level_dbm"]["typical"] - missing_db
    api.do("readings.read", point=plant["H"], wavelength_nm=1490, level_dbm=round(level_dbm, 2))


def test_readings_lead_to_the_element_with_evidence_and_what_to_check_first(api, plant):
    low(api, plant, 6.0)
    (tree,) = api.read(f"equipment/{plant.id('T')}/trees/")

    found = api.read(f"channels/{tree['channel']}/causes/")

    assert (tree["port"], found["read"]) == (plant["O.1"], 1)
    first = found["check_first"][0]
    assert first["extra_db"] == pytest.approx(6.0, abs=0.5)
    assert first["says_so"][0]["point"] == plant["H"]
    assert first["suspects"][0]["check"].startswith("Inspect and clean")
    assert "ITU-T G.657" in found["wavelength_source"]
    assert {"steps", "fibres", "dead", "further"} <= set(found)


def test_the_trees_of_a_point_a_cable_and_a_place_are_told(api, plant):
    trees = api.read(f"equipment/{plant.id('S')}/trees/")

    assert trees[0]["channel_name"] == "GPON B+"
    for address in (
        f"points/{plant['H']}/trees/",
        f"cables/{plant.id('F')}/trees/",
        f"places/{plant.building}/trees/",
    ):
        assert api.read(address) == trees
    assert api.read(f"places/{plant.flat('3')}/trees/") == []


def test_causes_can_be_asked_of_readings_since_a_time(api, plant):
    low(api, plant, 6.0)
    channel = plant.channel("O.1")

    assert api.read(f"channels/{channel}/causes/", since="2099-01-01T00:00:00Z")["read"] == 0
    assert told(api.get(f"channels/{channel}/causes/", since="soon"), 400, "bad_query")


def test_what_would_fail_is_told_with_by_how_much(api, plant):
    address = f"places/{plant.building}/what-if/"
    as_it_is = api.read(address)
    pattern = f"{entry('splitter', '1:32')},{entry('splitter', '1:8')}"

    supposed = api.read(address, pattern=pattern)

    assert as_it_is["homes"][0]["now"] == as_it_is["homes"][0]["then"]
    (home,) = supposed["failing"]
    assert (home["point"], home["fails"], home["fails_now"]) == (plant["H"], True, False)
    assert home["short_by_db"] > 0
    assert home["then"]["split"] == 256
    assert {each["fault"] for each in home["then"]["down_verdicts"]} >= {"too weak"}


def test_an_estate_of_many_homes_is_told_in_parts(api, plant, monkeypatch):
    plant.grow("terminal H2 @2\nT.2 = H2")
    monkeypatch.setattr(homes_in_parts, "AT_ONCE", 1)
    address = f"places/{plant.estate}/what-if/"

    first, latest = api.read(address), api.read(address, part=9)

    assert first["part"] == {
        "number": 1, "parts": 2, "first_home": 1, "last_home": 1, "all_homes": 2,
    }  # fmt: skip
    assert latest["part"]["number"] == 2
    assert first["home_count"] == latest["home_count"] == 1
    assert {each["point"] for told in (first, latest) for each in told["homes"]} == {
        plant["H"], plant["H2"],
    }  # fmt: skip


def test_one_splitter_or_class_alone_can_be_supposed(api, plant):
    address = f"equipment/{plant.id('T')}/what-if/"

    splitter = api.read(address, splitter=entry("splitter", "1:16"))
    other = api.read(address, optical_class=optical_class("XGS-PON N1"))

    assert splitter["homes"][0]["then"]["split"] == 64
    assert other["homes"][0]["then"]["channel_name"] == "XGS-PON N1"


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ({"optical_class": 999}, "optical_class"),
        ({"instead_of": 1}, "optical_class"),
        ({"attenuator": 999}, "attenuator"),
        ({"pattern": "999"}, "pattern"),
    ],
)
def test_what_can_not_be_supposed_is_refused_with_the_field(api, plant, query, field):
    problem = told(api.get(f"places/{plant.building}/what-if/", **query), 422, "malformed")

    assert problem["field"] == field


@pytest.mark.parametrize("pattern", ["x", "1,,2", "1,2,3,4,5", ""])
def test_a_pattern_of_another_form_is_refused(api, plant, pattern):
    told(api.get(f"places/{plant.building}/what-if/", pattern=pattern), 400, "bad_query")


def test_no_question_costs_more_queries_for_more_homes(api, plant):
    addresses = (
        f"places/{plant.building}/what-if/",
        f"channels/{plant.channel('O.1')}/causes/",
        f"places/{plant.building}/trees/",
        f"points/{plant['H']}/explanation/",
    )

    def cost():
        with CaptureQueriesContext(connection) as captured:
            for address in addresses:
                api.read(address)
        return len(captured)

    low(api, plant, 6.0)
    cost()
    few = cost()
    plant.grow("terminal K @2\nT.2 - K\nterminal L @3\nT.3 - L")

    assert cost() <= few
