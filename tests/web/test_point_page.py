"""A point's page: the light there, the way it comes, what was read, who hangs below."""

import re

import pytest

from records.changes import joints, readings, swaps
from records.handover.figures import MINUS
from records.models import JointEnd, OpticalClass
from records.queries.paths import paths
from tests.factories import Plant, opened
from tests.web.reading import PLANT, main, words


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def shown(level_dbm, places):
    return f"{level_dbm:.{places}f}".replace("-", MINUS)


def test_the_expected_level_stands_on_top_as_the_record_has_it(crew, plant):
    (path,) = paths(plant["T1"])

    page = crew.get(f"/points/{plant['T1']}/")

    assert shown(path.lit.level.typical_dbm, 1) in words(page)
    assert f"expected, {shown(path.lit.level.least_dbm, 2)} to" in words(page)
    assert "Fed by leg 1 of S" in words(page)
    assert "1,232 m from PON port 1 of O" in words(page)


def test_each_hop_of_the_way_shows_its_level_and_its_loss(crew, plant):
    (path,) = paths(plant["T1"])

    page = words(crew.get(f"/points/{plant['T1']}/"))

    for hop in path.hops:
        assert f"{shown(hop.level.typical_dbm, 2)} dBm" in page
    assert "1,200 m of G.652.D" in page
    assert "splitter 1:4" in page
    assert "fusion splice" in page


def test_the_things_on_the_way_come_in_the_order_of_the_light(crew, plant):
    page = main(crew.get(f"/points/{plant['T1']}/"))

    strip = page.partition('<ol class="strip">')[2].partition("</ol>")[0]
    assert re.findall(r"<strong>(\w+(?: \d)?)</strong>", strip) == [
        "O", "F", "P", "S", "D1", "U1", "CORD 1", "T1",
    ]  # fmt: skip


def test_a_terminal_is_told_what_it_and_the_olt_would_receive(crew, plant):
    page = words(crew.get(f"/points/{plant['T1']}/"))

    (path,) = paths(plant["T1"])
    for verdict in (*path.lit.down_verdicts, *path.lit.up_verdicts):
        assert verdict.words.replace(" -", f" {MINUS}") in page
    assert path.lit.down_verdicts
    assert f"below overload {shown(path.lit.down_margins.below_overload_db, 2)} dB" in page


def test_two_channels_have_a_strip_each(crew, plant):
    plant.grow("light O.1 XGS-PON N1")

    page = main(crew.get(f"/points/{plant['T1']}/"))

    assert page.count('<ol class="strip">') == 2
    assert page.count('<svg class="picture"') == 2
    assert "GPON B+" in page
    assert "XGS-PON N1" in page


def test_a_dark_point_says_so_and_shows_the_way_up_as_far_as_joined(crew, plant):
    with opened() as change:
        joints.part(change, plant.joint("O.1"))

    page = words(crew.get(f"/points/{plant['T1']}/"))

    assert "No light reaches this point." in page
    assert "It leads to leg 1 of S" in page
    assert "A end of fibre 1 of F" in page


def test_a_reading_stands_with_its_verdict_and_its_difference(crew, plant):
    (path,) = paths(plant["T1"])
    low_dbm = round(path.lit.level.least_dbm - 4, 2)
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=low_dbm, meter="M7")

    page = words(crew.get(f"/points/{plant['T1']}/"))

    difference_db = low_dbm - path.lit.level.typical_dbm
    assert f"Read {shown(low_dbm, 2)} dBm low {shown(difference_db, 2)} dB" in page
    assert "meter M7" in page


def test_a_reading_older_than_work_on_the_way_says_after_which_change(crew, plant):
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-10)
    with opened() as change:
        joint = plant.joint("S.1")
        beyond = JointEnd.objects.exclude(point=plant["S.1"]).get(joint=joint).point_id
        joints.part(change, joint)
        joints.join(change, plant["S.1"], beyond, kind="mated")

    page = words(crew.get(f"/points/{plant['T1']}/"))

    assert f"Taken before change {change.number} altered the way of the light" in page


def test_a_reading_from_before_another_figure_says_that_the_glass_is_the_same(crew, plant):
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-10)
    with opened() as change:
        joints.measure(change, plant.joint("S.1"), loss_db=1.5)

    page = words(crew.get(f"/points/{plant['T1']}/"))

    assert "Taken before" not in page
    assert f"reckoned from other figures since, by change {change.number}" in page


def test_a_splitter_input_says_which_dwellings_go_dark(crew, plant):
    page = words(crew.get(f"/points/{plant['S.in']}/"))

    assert "Goes dark if this is cut: 2" in page
    assert "Alder Close, Block A, Flat 1" in page
    assert "Alder Close, Block A, Flat 2" in page


@pytest.mark.parametrize(
    ("point", "offered"),
    [
        ("S.1", {"joints.part", "joints.measure", "bookings.measure"}),
        ("S.3", {"joints.join", "joints.patch", "bookings.release"}),
        ("S.4", {"bookings.unbar"}),
        ("V.1", {"bookings.book", "bookings.bar", "joints.join"}),
        ("O.2", {"channels.light", "joints.patch"}),
    ],
)
def test_a_page_offers_the_verbs_that_fit(crew, plant, point, offered):
    page = main(crew.get(f"/points/{plant[point]}/"))

    verbs = set(re.findall(r'href="/do/([a-z_.]+)/', page))
    assert offered <= verbs
    assert "readings.read" in verbs
    assert not ("bookings.book" in verbs and "bookings.release" in verbs)


def test_the_forms_that_a_page_leads_to_are_there(crew, plant):
    for point in ("S.1", "S.3", "S.4", "V.1", "O.2", "D1.1a"):
        page = main(crew.get(f"/points/{plant[point]}/"))
        for address in re.findall(r'href="(/do/[^"]+)"', page):
            assert crew.get(address.replace("&amp;", "&")).status_code == 200, address


def test_every_point_warns_of_invisible_light(crew, plant):
    for point in ("O.2", "S.3", "T1", "F.2a"):
        page = words(crew.get(f"/points/{plant[point]}/"))
        assert "Treat this fibre as live." in page
        assert "never look into a fibre or port" in page


def test_a_point_that_is_not_there_is_told_in_words(crew, plant):
    for number in (10**6, 10**30):
        page = crew.get(f"/points/{number}/")
        assert page.status_code == 404
        assert "Find it by its name" in words(page)


def test_a_long_way_costs_no_more_queries_than_a_short_one(
    crew, plant, django_assert_max_num_queries
):
    for point in ("O.1", "T1"):
        with django_assert_max_num_queries(28):
            crew.get(f"/points/{plant[point]}/")


def test_main_and_standby_say_their_port_and_what_the_home_does_not_receive(crew, plant):
    plant.grow(
        """
        olt X x2
        splitter W 2:4
        cable G 100 m x2
        terminal T9 @9
        light X.1 GPON B+
        light X.2 GPON B+ standby X.1
        light X.1 XGS-PON N1
        X.1 = G.1 = W.in1
        X.2 = G.2 = W.in2
        W.1 = T9
        """
    )
    class_id = OpticalClass.objects.get(system="GPON", name="B+").pk
    with opened() as change:
        terminal = swaps.swap(change, plant.id("T9"), optical_class=class_id)

    page = words(crew.get(f"/points/{terminal.ports.get().pk}/"))

    assert page.count("100 m from PON port 1 of X .") == 2
    assert "100 m from PON port 2 of X . Only while it stands in for the main one." in page
    assert page.count("The terminal here receives GPON B+, not this.") == 1
