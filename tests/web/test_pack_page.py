"""The page of an as-built pack: what it asks, the file it gives, and what it refuses."""

import logging

import pytest

from records.changes import places
from records.handover.pack import document
from records.models import Change
from tests.factories import Plant, opened
from tests.handover.packs import whole
from tests.web.reading import PLANT, main, words


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def test_a_place_leads_to_its_pack_and_keeps_the_moment(crew, plant):
    number = Change.objects.latest("number").number
    address = f"/places/{plant.building}/pack/"

    assert f'href="{address}"' in main(crew.get(f"/places/{plant.building}/"))
    past = main(crew.get(f"/places/{plant.building}/", {"at": number}))
    assert f'href="{address}?at={number}"' in past
    assert f'value="{number}"' in main(crew.get(address, {"at": number}))


def test_the_file_is_the_pack_as_it_stood_in_the_usual_form(crew, plant):
    number = Change.objects.latest("number").number
    with opened() as change:
        places.rename(change, plant.building, name="Block Z")

    answer = crew.get(f"/places/{plant.building}/pack/file", {"at": number})

    assert answer.headers["Content-Type"] == "application/pdf"
    name = f"place-{plant.building}-as-built-after-change-{number}.pdf"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    text = whole(answer.content)
    assert f"after change {number}" in text
    assert "crew" not in text.replace("the crew", "")
    assert "Block" not in text


def test_who_takes_addresses_is_logged(crew, plant, caplog):
    with caplog.at_level(logging.WARNING, logger="records.web.handed_over"):
        answer = crew.get(f"/places/{plant.building}/pack/file", {"has_addresses": "on"})

    text = whole(answer.content)
    assert "Block A" in text
    assert "Asked for by crew" in text
    assert f"took the addresses of place {plant.building}" in caplog.text


@pytest.mark.parametrize("field", ["at", "since"])
@pytest.mark.parametrize("wrong", ["9999", "yesterday", "2999-01-01"])
def test_a_moment_that_is_none_is_said_beside_its_field(crew, plant, field, wrong):
    answer = crew.get(f"/places/{plant.building}/pack/file", {field: wrong})

    assert answer.status_code == 422
    said = words(answer)
    assert "There is no" in said
    assert wrong in said


def test_a_region_is_refused_with_what_to_do(crew, plant, monkeypatch):
    monkeypatch.setattr(document, "HOMES_MAX", 2)

    answer = crew.get(f"/places/{plant.estate}/pack/file")

    assert answer.status_code == 422
    assert "holds 3 homes; a pack holds at most 2. Ask for the pack of each" in words(answer)
