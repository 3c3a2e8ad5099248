"""What is recorded while a document is read stays out of it, and is in the next."""

import pytest

from records.changes import bookings, equipment
from records.handover import one_moment
from records.handover.exports.files import export
from records.models import Place
from records.queries.chain import latest_seal
from tests.factories import Plant, opened
from tests.handover.packs import FULL, PLANT, pack_of, whole

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant():
    return Plant(PLANT)


@pytest.fixture
def meanwhile(plant, monkeypatch):
    """Have others work as soon as the moment is chosen."""

    def chosen():
        seal = latest_seal()
        with opened() as change:
            equipment.rename(change, plant.id("S"), name="Renamed")
            bookings.bar(change, plant["V.1"], why="bent meanwhile")
        return seal

    monkeypatch.setattr(one_moment, "latest_seal", chosen)


def legs_of(plant):
    document = export(Place.objects.get(pk=plant.building), "legs", has_addresses=True)
    return "".join(document.csv())


@pytest.mark.usefixtures("meanwhile")
def test_a_pack_tells_what_stood_when_it_was_begun(plant, monkeypatch):
    now = whole(pack_of(plant.building, FULL))
    monkeypatch.setattr(one_moment, "latest_seal", latest_seal)
    then = whole(pack_of(plant.building, FULL))

    for late in ("Renamed", "bent meanwhile"):
        assert late not in now
        assert late in then


@pytest.mark.usefixtures("meanwhile")
def test_an_export_tells_what_stood_when_it_was_begun(plant, monkeypatch):
    now = legs_of(plant)
    monkeypatch.setattr(one_moment, "latest_seal", latest_seal)
    then = legs_of(plant)

    for late in ("Renamed", "bent meanwhile"):
        assert late not in now
        assert late in then
