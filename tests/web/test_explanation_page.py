"""The explanation of a level: its launch, each loss with its source, the sums, the margins."""

import re

import pytest

from records.changes import bookings, cables, catalogue, channels, joints
from records.handover.figures import MINUS
from records.models import Figure
from records.queries.explain import explain
from tests.factories import Plant, opened
from tests.web.reading import PLANT, main, words


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def address(plant, point="T1"):
    return f"/points/{plant[point]}/light/{plant.channel('O.1')}/"


def shown(value):
    return f"{value:.2f}".replace("-", MINUS)


def test_the_point_leads_to_it_by_one_click(crew, plant):
    page = main(crew.get(f"/points/{plant['T1']}/"))

    assert f'href="{address(plant)}"' in page


def test_each_way_of_adding_up_stands_beside_the_others_for_both_receivers(crew, plant):
    page = words(crew.get(address(plant)))

    for direction in ("down", "up"):
        told = explain(plant["T1"], plant.channel("O.1"), direction)
        for case in told.cases:
            sums = (case.loss_db, case.level_dbm, case.margin_db)
            assert f"{case.name} {' '.join(map(shown, sums))}" in page
        assert told.method in page
    assert "Margins at both receivers" in page
    assert page.count("above what the receiver needs") == 2


def test_every_loss_leads_to_its_source_and_what_is_unconfirmed_says_so(crew, plant):
    page = crew.get(address(plant))

    html = main(page)
    assert set(re.findall(r'href="#((?:down|up)-\d+)"', html)) == set(
        re.findall(r'<li id="((?:down|up)-\d+)"', html)
    )
    told = explain(plant["T1"], plant.channel("O.1"), "down")
    for term in told.terms:
        for figure in term.figures:
            assert " ".join(figure.citation.source.split()) in words(page)
    assert any(term.is_unconfirmed for term in told.terms)
    assert "unconfirmed" in words(page)


def test_a_confirmed_figure_says_in_which_edition_and_table(crew, plant):
    told = explain(plant["T1"], plant.channel("O.1"), "down")
    unconfirmed = [
        figure.figure_id
        for term in told.terms
        for figure in term.figures
        if figure.citation.is_unconfirmed
    ]
    with opened() as change:
        for row in Figure.objects.filter(pk__in=unconfirmed):
            catalogue.confirm(
                change, noun="figure", row=row.pk, edition="edition 11/2016", table="Table 2"
            )

    page = words(crew.get(address(plant)))

    assert "confirmed in edition 11/2016, Table 2 by crew" in page
    assert "unconfirmed" not in page.partition("Down, from the OLT")[2].partition("Up, to")[0]


def test_what_was_measured_says_so_with_who_and_when(crew, plant):
    with opened(reason="test sheets") as change:
        channels.measure(change, plant.channel("O.1"), launch_dbm=3.1)
        bookings.measure(change, plant["S.1"], loss_db=7.05)
        joints.measure(change, plant.joint("D1.1b"), loss_db=0.04)
        cables.measure(change, plant.id("F"), fibre=1, length_m=1187.0)

    page = words(crew.get(address(plant)))

    assert page.count(f"by crew, change {change.number} ,") >= 4
    assert "1,187 m of G.652.D" in page
    assert "launch of PON port 1 of O measured 3.10" in page
    assert "2 Mar 2026" not in page.partition("Term by term")[0]


def test_the_sum_is_said_to_be_the_stored_level(crew, plant):
    page = words(crew.get(address(plant)))

    assert page.count("The sum is what the record stores, to the last digit.") == 2


def test_a_channel_that_does_not_come_here_is_told_in_words(crew, plant):
    channel = plant.channel("O.1")

    for point in (plant["F.2a"], 10**6):
        page = crew.get(f"/points/{point}/light/{channel}/")
        assert page.status_code == 404


def test_a_long_way_costs_no_more_queries_than_a_short_one(
    crew, plant, django_assert_max_num_queries
):
    for point in ("O.1", "T1"):
        with django_assert_max_num_queries(36):
            crew.get(address(plant, point))
