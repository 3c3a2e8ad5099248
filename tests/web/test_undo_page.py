"""A change's page leads to what reverses it, or to what stands in the way."""

import pytest

from records.changes import equipment
from records.models import Job
from tests.factories import Plant, opened
from tests.web.reading import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant():
    return Plant("panel P x2")


def renamed(plant, name):
    with opened() as change:
        equipment.rename(change, plant.id("P"), name=name)
    return change.number


def test_what_reverses_a_change_is_drafted_as_a_job(crew, plant):
    number = renamed(plant, "P7")
    assert f"/changes/{number}/undo/" in crew.get(f"/changes/{number}/").content.decode()

    page = crew.get(f"/changes/{number}/undo/")
    form = {**page.context["form"].data.dict(), "token": page.context["token"]}
    answer = crew.post(f"/changes/{number}/undo/", form)

    assert "Rename equipment" in words(page)
    job = Job.objects.get()
    assert answer.url == f"/jobs/{job.pk}/"
    assert (job.name, job.place_id) == (f"Undo change {number}", plant.riser)
    (step,) = job.steps
    assert step["verb"] == "equipment.rename"
    assert step["arguments"]["name"] == "P"


def test_what_stands_in_the_way_is_told_with_its_change(crew, plant):
    number = renamed(plant, "P7")
    page = crew.get(f"/changes/{number}/undo/")
    form = {**page.context["form"].data.dict(), "token": page.context["token"]}
    later = renamed(plant, "P8")

    told = crew.get(f"/changes/{number}/undo/")
    refused = crew.post(f"/changes/{number}/undo/", form)

    assert f"P8 (Alder Close, Block A, Riser) was altered since, in change {later}" in words(told)
    assert f'href="/changes/{later}/undo/"' in told.content.decode()
    assert refused.status_code == 409
    assert not Job.objects.exists()


def test_there_is_nothing_to_undo_of_no_change(crew):
    assert crew.get("/changes/999999/undo/").status_code == 404
