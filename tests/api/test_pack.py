"""The as-built pack by the API."""

import pytest

from records.changes import bookings
from records.handover.pack import document
from records.models import Change
from tests.api.asking import Api, told
from tests.factories import Plant, opened
from tests.handover.packs import whole
from tests.web.reading import PLANT

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant():
    return Plant(PLANT)


@pytest.fixture
def api():
    return Api()


def test_a_pack_is_a_pdf_of_the_moment_asked_for(api, plant):
    number = Change.objects.latest("number").number

    answer = api.get(f"places/{plant.building}/pack/", as_of=number)

    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")
    assert f"after change {number}" in whole(answer.content)
    assert "Block A" not in whole(answer.content)


def test_addresses_and_deviations_are_there_when_asked_for(api, plant):
    number = Change.objects.latest("number").number
    with opened() as change:
        bookings.bar(change, plant["V.1"], why="bent")

    answer = api.get(f"places/{plant.building}/pack/", addresses="true", since=number)

    assert "Block A" in whole(answer.content)
    assert f"1 change touched this place after change {number}" in whole(answer.content)


@pytest.mark.parametrize("query", [{"since": "9999"}, {"as_of": "9999"}, {"addresses": "yes"}])
def test_a_wrong_value_is_named(api, plant, query):
    problem = told(api.get(f"places/{plant.building}/pack/", **query), 400, "bad_query")

    assert problem["field"] == next(iter(query))


def test_a_region_and_a_missing_place_are_refused(api, plant, monkeypatch):
    monkeypatch.setattr(document, "HOMES_MAX", 2)

    assert told(api.get(f"places/{plant.estate}/pack/"), 422, "malformed")["hint"]
    assert told(api.get("places/999999/pack/"), 404, "missing")
