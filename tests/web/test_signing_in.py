"""A sign-in that ends while a form is filled in: nothing is recorded, and nothing is lost."""

import re

import pytest
from django.test import Client

from records.changes import jobs, places
from tests.factories import Plant, opened, user
from tests.unchanged import nothing_written
from tests.web.reading import words

PASSWORD = "never look into a fibre"
RIGHT = {"username": "ann", "password": PASSWORD}


@pytest.fixture
def ann(db):
    person = user("ann")
    person.set_password(PASSWORD)
    person.save()
    return person


@pytest.fixture
def fields(ann):
    plant = Plant("splitter S 1:4")
    return {"leg": str(plant["S.1"]), "why": "kinked & wet", "token": "5-x", "extra": ["1", "2"]}


def carried(page):
    """Return the hidden fields that a sign-in page sends along."""
    found = re.findall(
        r'<input type="hidden" name="(next|unsent)" value="([^"]*)"', page.content.decode()
    )
    return {name: value.replace("&amp;", "&") for name, value in found}


def test_what_was_filled_in_comes_back_after_signing_in(client, fields):
    with nothing_written():
        asked = client.post("/do/bookings.bar/", fields)
        wrong = client.post("/sign-in", {**RIGHT, "password": "no", **carried(asked)})
    signed_in = client.post("/sign-in", {**RIGHT, **carried(wrong)}, follow=True)

    assert asked.status_code == 403
    assert "Your sign-in has ended, so nothing was recorded." in words(asked)
    assert "Nothing was recorded yet. Look at what is here, and send it again." in words(signed_in)
    form = signed_in.context["form"]
    assert (form["leg"].value(), form["why"].value()) == (fields["leg"], "kinked & wet")
    assert "barred leg 1 of S" in " ".join(signed_in.context["effect"].words)
    # It comes back once: the next look at the form is a fresh one.
    assert client.get("/do/bookings.bar/").context["form"]["why"].value() is None


def test_what_is_carried_leads_to_no_other_site_and_holds_no_password(client, fields):
    asked = client.post("/do/bookings.bar/", {**fields, "password": "secret"})
    answer = client.post("/sign-in", {**RIGHT, **carried(asked), "next": "https://elsewhere.test"})

    assert "secret" not in asked.content.decode()
    assert answer["Location"] == "/"


def test_a_look_up_is_told_that_the_sign_in_has_ended(client, fields):
    answer = client.post("/do/bookings.bar/", fields, headers={"HX-Request": "true"})

    assert (answer.status_code, answer["HX-Retarget"]) == (403, "#sign-in-ended")
    assert words(answer).startswith("Your sign-in has ended.")


def test_a_form_from_before_signing_in_anew_comes_back_too(ann, fields):
    crew = Client(enforce_csrf_checks=True)
    crew.force_login(ann)

    with nothing_written():
        answer = crew.post("/do/bookings.bar/", fields, follow=True)

    assert answer.context["form"]["why"].value() == "kinked & wet"
    assert "Nothing was recorded yet." in words(answer)


def test_a_wrong_password_is_said_in_the_words_of_the_page(client, ann):
    answer = client.post("/sign-in", {**RIGHT, "password": "no"})

    assert "The name or the password is wrong. Capital letters count in both." in words(answer)


@pytest.mark.parametrize(
    ("address", "given"),
    [
        ("/jobs/new/", {"name": "Connect flat 3"}),
        ("/jobs/{job}/details/", {"name": "Connect flat 3", "revision": "1"}),
        ("/jobs/{job}/steps/new/places.rename/?at=1", {"name": "Flat 3A", "spot": "new 1"}),
        ("/changes/{change}/undo/", {"name": "Connect flat 3"}),
    ],
)
def test_what_was_filled_in_of_a_job_comes_back_too(client, ann, address, given):
    plant = Plant("splitter S 1:4")
    with opened() as change:
        job = jobs.draft(change, name="Old", place=plant.building, steps=[])
    with opened() as change:
        places.rename(change, plant.building, name="Block X")
    address = address.format(job=job.pk, change=change.number)

    told = client.post(address, given, headers={"HX-Request": "true"})
    asked = client.post(address, given)
    signed_in = client.post("/sign-in", {**RIGHT, **carried(asked)}, follow=True)

    assert "it comes back filled in once you have signed in" in words(told)
    assert signed_in.context["form"]["name"].value() == given["name"]


def test_a_form_of_a_job_comes_back_as_of_the_revision_it_started_from(client, ann):
    plant = Plant("splitter S 1:4")
    with opened() as change:
        job = jobs.draft(change, name="Old", place=plant.building, steps=[])
    typed = {"name": "Mine", "place": plant.building, "revision": "1"}
    asked = client.post(f"/jobs/{job.pk}/details/", typed)
    with opened() as change:
        jobs.edit(change, job.pk, revision=1, name="Theirs", place=plant.building, steps=[])

    page = client.post("/sign-in", {**RIGHT, **carried(asked)}, follow=True)
    sent = {**typed, "revision": page.context["revision"], "token": page.context["token"]}
    answer = client.post(f"/jobs/{job.pk}/details/", sent)

    assert answer.context["is_overtaken"]


def test_what_does_not_come_back_is_not_said_to(client, ann):
    told = words(client.post("/intake/", {"text": "x"}, headers={"HX-Request": "true"}))

    assert "Copy what you typed: it does not come back." in told


def test_a_button_pressed_too_late_leads_to_its_page(client, ann):
    asked = client.post("/labels/stock/1/forget")

    page = client.post("/sign-in", {**RIGHT, **carried(asked)}, follow=True)

    assert page.redirect_chain[-1] == ("/labels/stock", 302)
    assert "Nothing was recorded yet." in words(page)
