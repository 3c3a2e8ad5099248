"""Nothing new is put into a place that is no longer there, by whichever verb."""

from datetime import date
from itertools import count, islice

import pytest

from records.changes import bookings, hazards, places, prints, tags
from records.models import Booking, HazardStatement, PrintRun, Tag
from records.models.tag_code import candidate
from tests.factories import Plant, opened
from tests.unchanged import refused

pytestmark = pytest.mark.django_db

SETTING = prints.Setting(stock="A4", rules="{}", digest="")
CODES = list(islice(filter(None, map(candidate, count(7))), 3))


@pytest.fixture
def plant():
    """Return a plant whose flat 3 is retired, with blank tags at hand."""
    plant = Plant("splitter S 1:4\nflat 3")
    with opened() as change:
        places.retire(change, plant.flat("3"))
        tags.issue(change, count=1, candidates=CODES)
    return plant


def _label(noun, thing):
    return prints.ToPrint(kind="box", noun=noun, thing=thing, is_new=True, code=CODES[2])


PUT_IN = {
    "a booking": (
        "line",
        lambda change, plant: bookings.book(change, plant["S.1"], line=plant.line("3")),
    ),
    "a hazard": (
        "place",
        lambda change, plant: hazards.state(
            change,
            plant.flat("3"),
            hazard_level="1M",
            assessor="ALM",
            stated_date=date(2026, 3, 1),
        ),
    ),
    "its tag": (
        "thing",
        lambda change, plant: tags.bind(change, CODES[0], noun="place", thing=plant.flat("3")),
    ),
    "a tag of its line": (
        "thing",
        lambda change, plant: tags.bind(change, CODES[0], noun="line", thing=plant.line("3")),
    ),
    "its label": (
        "labels",
        lambda change, plant: prints.record(
            change, chosen="Flat 3", setting=SETTING, labels=[_label("place", plant.flat("3"))]
        ),
    ),
    "a label of its line": (
        "labels",
        lambda change, plant: prints.record(
            change, chosen="Flat 3", setting=SETTING, labels=[_label("line", plant.line("3"))]
        ),
    ),
}


@pytest.mark.parametrize("what", PUT_IN)
def test_nothing_new_comes_into_a_retired_place(plant, what):
    field, put = PUT_IN[what]

    with refused("place_retired", "Flat 3 is retired", field=field) as change:
        put(change, plant)

    for model in (Booking, HazardStatement, PrintRun):
        assert not model.objects.exists()
    assert not Tag.objects.exclude(place=None, line=None).exists()
