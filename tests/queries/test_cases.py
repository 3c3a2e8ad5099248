"""The cases of many paths at once are those of each explained by itself."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import bookings
from records.models import Point
from records.queries.cases import cases_at
from records.queries.explain import explain_path
from records.queries.paths import paths_to
from tests.factories import Plant, opened
from tests.handover.packs import PLANT, plant_of

pytestmark = pytest.mark.django_db


def all_paths():
    ends = Point.objects.filter(role="terminal").values_list("pk", flat=True)
    return [path for found in paths_to(ends).values() for path in found]


def test_each_path_has_the_cases_of_its_explanation():
    plant = Plant(PLANT)
    with opened() as change:
        bookings.measure(change, plant["S.1"], loss_db=7.25)
    listed = all_paths()

    found = cases_at(listed)

    assert len(listed) > 1
    for path in listed:
        for direction in ("down", "up"):
            alone = explain_path(path, direction).cases
            assert found[path.lit.point_id, path.lit.channel_id, direction] == alone


def test_more_homes_cost_no_more_queries():
    plant = Plant(plant_of(2))
    few = counted(all_paths())
    plant.grow(
        "cable D8 9 m\n outlet U8 @8\n terminal T8 @8\n S.8 = D8 ~ U8 - T8\n"
        "cable D9 9 m\n outlet U9 @9\n terminal T9 @9\n S.9 = D9 ~ U9 - T9"
    )

    assert len(all_paths()) == 4
    assert counted(all_paths()) == few


def counted(listed):
    with CaptureQueriesContext(connection) as queries:
        cases_at(listed)
    return len(queries)
