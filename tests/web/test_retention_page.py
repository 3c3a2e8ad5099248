"""What has had its time is shown to an owner only, with the forms that cut it out."""

import pytest

from records.changes import lines, sightings
from records.models import Tag
from tests.factories import AT, Plant, opened, user
from tests.web.reading import words
from tests.web.test_verb_forms import a_tag

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    found = user("owner")
    found.is_superuser = True
    found.save()
    client.force_login(found)
    return client


def test_an_owner_sees_what_has_had_its_time_and_the_form_for_it(owner):
    plant = Plant("flat 1")
    with opened() as change:
        line = lines.open(change, place=plant.flat("1"), outside_ref="Q-7")
    sightings.see(Tag.objects.get(code=a_tag()), by=user(), at=AT)

    page = owner.get("/retention/", {"before": "2026-03-03"})

    said = words(page)
    assert "without a leg since: 1" in said
    assert f"Line {line} Flat 1, refers to Q-7: cut it out" in said
    assert "Scans of labels that say who made them: 1" in said
    form = f"/do/retention.forget_outside_ref/?line={line.pk}"
    assert form in page.content.decode()
    assert "Cut out the outside reference of line" in words(owner.get(form))


def test_a_day_that_is_none_is_told_and_without_one_it_is_two_years_ago(owner):
    assert "This is not a date." in words(owner.get("/retention/", {"before": "soon"}))
    assert "without a leg since: 0" in words(owner.get("/retention/"))


def test_the_crew_is_told_that_it_may_not(client):
    client.force_login(user())

    assert client.get("/retention/").status_code == 403
    form = client.get("/do/retention.forget_person/", {"person": user("left").pk})
    assert "and crew is none" in words(form)
