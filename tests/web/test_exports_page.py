"""The page of a place's files, and the files."""

import logging

import pytest

from records.changes import places
from records.models import Change
from tests.factories import Plant, opened, user
from tests.web.reading import PLANT, main, words


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def test_the_page_of_a_place_leads_to_its_files(crew, plant):
    assert f'href="/places/{plant.building}/exports/"' in main(
        crew.get(f"/places/{plant.building}/")
    )


def test_the_files_are_offered_without_addresses_and_what_is_left_out_is_named(crew, plant):
    page = crew.get(f"/places/{plant.building}/exports/")

    assert "Without addresses" in words(page)
    assert f'href="/places/{plant.building}/exports/sheet.csv"' in main(page)
    assert "Barred legs: 1 leg 4 of S (Riser): told in the record" in words(page)
    assert "When it is taken in, assume" in words(page)


def test_a_file_of_a_past_moment_is_as_the_place_stood(crew, plant):
    number = Change.objects.latest("number").number
    with opened() as change:
        places.rename(change, plant.flat("1"), name="Loft")
    past = crew.get(f"/places/{plant.building}/exports/?at={number}&addresses=true")
    address = f"/places/{plant.building}/exports/homes.csv?addresses=true"

    assert f'href="{address.replace("&", "&amp;")}&amp;at={number}"' in main(past)
    now, then = crew.get(address), crew.get(f"{address}&at={number}")
    assert then.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert f"homes-after-change-{number}-with-addresses.csv" in then["Content-Disposition"]
    assert ("Loft" in now.content.decode(), "Loft" in then.content.decode()) == (True, False)
    assert "Flat 1" in then.content.decode()


def test_who_takes_addresses_is_noted(crew, plant, caplog):
    with caplog.at_level(logging.WARNING):
        crew.get(f"/places/{plant.building}/exports/homes.csv")
        assert "took the addresses" not in caplog.text
        crew.get(f"/places/{plant.building}/exports/homes.csv?addresses=true")

    assert f"{user().pk} took the addresses of place {plant.building}" in caplog.text


def test_an_unknown_file_is_missing_and_says_which_there_are(crew, plant):
    page = crew.get(f"/places/{plant.building}/exports/nothing.csv")

    assert page.status_code == 404
    assert "Ask for one of: sheet, homes, legs, cables, readings" in words(page)
