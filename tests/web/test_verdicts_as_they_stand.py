"""Every verdict on a home as it stands, each way and on each channel: on its pages and by API."""

import pytest

from records.changes import joints
from records.handover.figures import MINUS
from records.models import Channel
from tests.api.asking import Api
from tests.factories import Plant, opened
from tests.web.reading import words

LIT = """
    olt O
    light O.1 GPON B+
    light O.1 XGS-PON N1
"""
SHORT = f"""{LIT}
    splitter S 1:2
    terminal T @1
    O.1 = S
    S.1 = T
"""
DIVIDED = f"""{LIT}
    splitter S 1:64
    splitter V 1:8
    cable F 1900 m
    terminal T @1
    O.1 = F = S
    S.1 = V
    V.1 = T
"""
FAR = f"""{LIT}
    splitter S 1:2
    cable D1 30 m
    cable D2 20060 m
    terminal N @2
    terminal T @1
    O.1 = S
    S.1 = D1 = N
    S.2 = D2 = T
"""

# Limits by channel. Sources: ITU-T G.984.2 Amd 1 Appendix III for B+ (its powers as an expert
# answer quotes them, penalty 0.5 dB and 13 to 28 dB as a note restates them), ITU-T G.9807.1
# Annex B for N1 (from memory); reach 20 km, differential reach 20 km and split 1:128 of
# ITU-T G.984.1, 1:256 of XGS-PON (from memory).
CASES = [
    (DIVIDED, "too weak", "down", {"GPON B+": -26.5, "XGS-PON N1": -27.0}),
    (DIVIDED, "too weak", "up", {"GPON B+": -27.5, "XGS-PON N1": -25.0}),
    (SHORT, "too strong", "down", {"GPON B+": -8.0, "XGS-PON N1": -9.0}),
    (SHORT, "too strong", "up", {"GPON B+": -8.0, "XGS-PON N1": -5.0}),
    (DIVIDED, "out of class", "down", {"GPON B+": 28.0, "XGS-PON N1": 29.0}),
    (DIVIDED, "out of class", "up", {"GPON B+": 28.0, "XGS-PON N1": 29.0}),
    (SHORT, "out of class", "down", {"GPON B+": 13.0, "XGS-PON N1": 14.0}),
    (SHORT, "out of class", "up", {"GPON B+": 13.0, "XGS-PON N1": 14.0}),
    (FAR, "out of reach", "down", {"GPON B+": 20_000, "XGS-PON N1": 20_000}),
    (FAR, "differential reach", "down", {"GPON B+": 20_000, "XGS-PON N1": 20_000}),
    (DIVIDED, "split beyond class", "down", {"GPON B+": 128, "XGS-PON N1": 256}),
]


@pytest.mark.parametrize("case", CASES)
def test_a_verdict_stands_on_each_page_of_the_home_and_in_each_answer(crew, case):
    text, fault, way, limits = case
    plant = Plant(text)
    point, home = plant["T"], plant.flat("1")

    feeds = Api().read("feeds/", point=point)["results"]
    building = Api().read(f"places/{plant.building}/building/")
    point_page = words(crew.get(f"/points/{point}/"))
    home_page = words(crew.get(f"/places/{home}/"))

    assert {feed["channel_name"] for feed in feeds} == set(limits)
    (terminal,) = (
        terminal
        for floor in building["floors"]
        for dwelling in floor["dwellings"]
        for terminal in dwelling["terminals"]
        if terminal["point"] == point
    )
    at_olt = "at the OLT " if way == "up" else ""
    for feed in [*feeds, *terminal["light"]]:
        (verdict,) = (each for each in feed[f"{way}_verdicts"] if each["fault"] == fault)
        assert verdict["limit"] == pytest.approx(limits[feed["channel_name"]])
        assert f"{at_olt}{verdict['words'].replace('-', MINUS)}" in point_page
    listed = f"{fault} at the OLT" if way == "up" else fault
    assert home_page.count(f"dBm {listed}") + home_page.count(f", {listed}") >= len(limits)


def test_a_home_within_all_limits_has_no_verdict(crew):
    plant = Plant(FAR)

    feeds = Api().read("feeds/", point=plant["N"])["results"]

    lengths = {"out of reach", "differential reach", "split beyond class"}
    found = {each["fault"] for feed in feeds for each in feed["down_verdicts"]}
    assert not found & lengths


def test_the_port_tells_its_nearest_and_furthest_home_and_the_limit_with_its_source(crew):
    plant = Plant(FAR)

    page = words(crew.get(f"/points/{plant['O.1']}/"))
    olt = words(crew.get(f"/equipment/{plant.id('O')}/"))
    trees = [Api().read(f"channels/{pk}/tree/") for pk in channels(plant)]

    for tree in trees:
        assert (tree["nearest"]["point"], tree["nearest"]["fibre_m"]) == (plant["N"], 30)
        assert (tree["furthest"]["point"], tree["furthest"]["fibre_m"]) == (plant["T"], 20_060)
        assert (tree["apart_m"], tree["home_terminals"], tree["split"]) == (20_030, 2, 2)
        # Source: ITU-T G.984.1 clause 10, G.9807.1; both from memory
        assert tree["limits"]["differential_reach_m"] == 20_000
        source = tree["limits"]["citation"]["source"]
        assert f"Limits: {source}" in page
        faults = [each["fault"] for each in tree["verdicts"]]
        assert faults == ["differential reach", "out of reach"]
        for verdict in tree["verdicts"]:
            assert verdict["words"] in page
            assert verdict["words"] in olt
    assert "differential reach: nearest to furthest 20.03 km 20 km" in page
    assert "2 home terminals, 30 m to 20.06 km of fibre, 20.03 km apart" in olt


def test_the_tree_as_it_stood_has_the_homes_of_then(crew):
    plant = Plant(FAR)
    with opened() as change:
        joints.part(change, plant.joint("T"))
    (channel, _) = channels(plant)

    now = Api().read(f"channels/{channel}/tree/")
    then = Api().read(f"channels/{channel}/tree/", as_of=change.number - 1)

    assert (now["home_terminals"], now["apart_m"], now["verdicts"]) == (1, 0, [])
    assert then["apart_m"] == 20_030


def channels(plant):
    """Return the two channels of the port."""
    lit = Channel.objects.filter(point=plant["O.1"]).order_by("pk")
    return list(lit.values_list("pk", flat=True))
