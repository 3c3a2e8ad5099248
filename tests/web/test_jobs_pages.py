"""The pages of jobs: listed, planned by the forms of the verbs, tried out, approved, recorded."""

import re
from datetime import date, timedelta
from urllib.parse import urlencode

import pytest
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from records.changes import bookings, buildings, jobs
from records.models import Booking, Change, Equipment, Job, JobState
from tests.factories import AT, Plant, entry, opened, user
from tests.unchanged import nothing_written
from tests.web.reading import PLANT, words


@pytest.fixture
def plant(db):
    return Plant(PLANT)


@pytest.fixture
def bea(db):
    other = Client()
    other.force_login(user("bea"))
    return other


def step(verb, **arguments):
    return {"verb": verb, "arguments": arguments, "note": ""}


def connect(plant):
    """Return the steps that connect flat 3: terminal, cord."""
    return [
        step("equipment.install", kind="terminal", place=plant.flat("3"), name="T3"),
        step("joints.patch", a=plant["S.3"], b={"step": 1, "port": "terminal port 1"}),
    ]


def drafted(plant, steps, **told):
    with opened() as change:
        return jobs.draft(
            change, **{"name": "Connect flat 3", "place": plant.building, **told}, steps=steps
        )


def approved(plant, steps, **told):
    job = drafted(plant, steps, **told)
    jobs.preview(job.pk, actor=user(), at=AT)
    with opened(actor=user("lead")) as change:
        return jobs.approve(change, job.pk, revision=job.revision)


def fields(page):
    """Return the hidden fields of a page's form, as a browser sends them."""
    names = ("token", "revision", "seen", "spot", "verb")
    return {name: str(page.context[name]) for name in names if name in page.context} | (
        {"verb": page.context["form"].verb} if "form" in page.context else {}
    )


def added(client, job, verb, given, *, at=""):
    address = f"/jobs/{job}/steps/new/{verb}/?{urlencode({'at': at, **given})}"
    return client.post(address, {**fields(client.get(address)), **given}, follow=True)


def pressed(client, job, deed, **more):
    page = client.get(f"/jobs/{job}/")
    sent = {"token": page.context["token"], "revision": page.context["job"].revision}
    return client.post(f"/jobs/{job}/", {**sent, "deed": deed, **more}, follow=True)


def test_a_job_is_planned_by_the_forms_of_the_verbs(crew, plant):
    page = crew.get("/jobs/new/", {"place": plant.building})
    page = crew.post(
        "/jobs/new/",
        {
            "token": page.context["token"],
            "name": "Connect flat 3",
            "place": plant.building,
            "reference": "W-7",
            "due_date": "2026-04-01",
        },
        follow=True,
    )
    job = Job.objects.get()
    assert page.redirect_chain[-1][0] == f"/jobs/{job.pk}/"

    install = {"kind": "terminal", "place": plant.flat("3"), "name": "T3", "polish": "APC"}
    added(crew, job.pk, "equipment.install", install)
    patch = {"a": plant["S.3"], "b": "terminal port 1 of step 1", "length_m": "2,5"}
    page = added(crew, job.pk, "joints.patch", {**patch, "reason": "blue cord"})

    job.refresh_from_db()
    assert job.due_date == date(2026, 4, 1)
    assert job.steps[1]["arguments"]["b"] == {"step": 1, "port": "terminal port 1"}
    assert job.steps[1]["note"] == "blue cord"
    assert "terminal port 1 of step 1" in words(page)
    assert not Equipment.objects.filter(name="T3").exists()


def test_a_step_offers_what_earlier_steps_make_and_tells_its_own_effect(crew, plant):
    job = drafted(plant, connect(plant)[:1])
    address = f"/jobs/{job.pk}/steps/new/joints.patch/"

    with nothing_written():
        page = crew.get(address, {"a": plant["S.3"], "b-words": "T3"})
    assert 'value="terminal port 1 of step 1"' in page.content.decode()
    assert "step 1 makes it" in words(page)

    with nothing_written():
        page = crew.get(address, {"a": plant["S.3"], "b": "terminal port 1 of step 1"})
    assert [home.terminal for home in page.context["effect"].lit] == ["T3"]
    assert "Installed" not in words(page)


def test_a_step_shows_where_it_would_be_refused(crew, plant):
    job = drafted(plant, [])

    page = crew.get(
        f"/jobs/{job.pk}/steps/new/bookings.book/", {"leg": plant["S.3"], "line": plant.line("2")}
    )

    assert "This would be refused." in words(page)
    assert "is held for line" in words(page)


def test_a_step_after_a_clash_says_what_can_not_be_chosen(crew, plant):
    clashing = step("bookings.book", leg=plant["S.3"], line=plant.line("2"))
    job = drafted(plant, [clashing])

    page = crew.get(f"/jobs/{job.pk}/steps/new/joints.join/")

    assert "Step 1 would be refused: Leg 3 of S" in words(page)


def test_an_edited_step_starts_with_what_it_says_and_keeps_what_its_form_does_not_ask(crew, plant):
    job = drafted(plant, [*connect(plant), step("places.rename", place=plant.flat("3"), name="x")])
    page = crew.get(f"/jobs/{job.pk}/steps/2/")
    form = page.context["form"]
    assert form.data["b"] == "terminal port 1 of step 1"

    sent = {**fields(page), "a": plant["S.3"], "b": form.data["b"], "length_m": "3"}
    crew.post(f"/jobs/{job.pk}/steps/2/", sent)

    job.refresh_from_db()
    assert job.steps[1]["arguments"]["length_m"] == 3
    assert [each["verb"] for each in job.steps] == [
        "equipment.install",
        "joints.patch",
        "places.rename",
    ]


@pytest.mark.parametrize("verb", ["readings.read", "buildings.renumber"])
def test_a_form_that_asks_otherwise_than_its_verb_takes_is_filled_in_again(crew, plant, verb):
    flats = [plant.flat("2"), plant.flat("3")]
    planned = {
        "readings.read": {
            "point": plant["T1"],
            "level_dbm": None,
            "wavelength_nm": 1490,
            "taken_at": "2026-03-02T09:30:00+00:00",
        },
        "buildings.renumber": {"flats": flats, "names": ["Flat 3", "Flat 2"]},
    }[verb]
    job = drafted(plant, [step(verb, **planned)])
    page = crew.get(f"/jobs/{job.pk}/steps/1/")
    data = {name: page.context["form"].data[name] for name in page.context["form"].data}

    crew.post(f"/jobs/{job.pk}/steps/1/", {**data, **fields(page)})

    job.refresh_from_db()
    assert job.revision == 2
    assert job.steps[0]["arguments"].items() >= planned.items()


def test_steps_are_moved_and_taken_out_and_references_follow(crew, plant):
    rename = step("places.rename", place=plant.flat("3"), name="Flat 3A")
    job = drafted(plant, [*connect(plant), rename])

    pressed(crew, job.pk, "up", step=3)
    pressed(crew, job.pk, "up", step=2)
    job.refresh_from_db()
    assert [each["verb"] for each in job.steps] == [
        "places.rename",
        "equipment.install",
        "joints.patch",
    ]
    assert job.steps[2]["arguments"]["b"]["step"] == 2

    page = pressed(crew, job.pk, "up", step=3)
    assert "Step 3: it uses what step 2 makes" in words(page)
    page = pressed(crew, job.pk, "remove", step=2)
    assert "Step 3: it uses what step 2 makes, so that one can't be taken out." in words(page)

    pressed(crew, job.pk, "remove", step=1)
    job.refresh_from_db()
    assert job.steps[1]["arguments"]["b"]["step"] == 1


def test_the_later_of_two_saves_is_told_with_both_versions_and_nothing_is_lost(crew, bea, plant):
    job = drafted(plant, connect(plant))
    address = f"/jobs/{job.pk}/steps/2/"
    mine = {**fields(crew.get(address)), "a": plant["S.3"], "length_m": "9"}
    mine["b"] = "terminal port 1 of step 1"
    rename = {"place": plant.flat("3"), "name": "Flat 3A"}
    added(bea, job.pk, "places.rename", rename, at=1)

    page = crew.post(address, mine)

    assert page.status_code == 409
    said = words(page)
    assert "bea saved this job meanwhile" in said
    assert "1. Rename a place new or altered" in said
    assert page.context["form"].data["length_m"] == "9"
    job.refresh_from_db()
    assert len(job.steps) == 3

    # Where it goes, and what it refers to, has followed the steps that were moved.
    typed = page.context["form"].data
    assert (str(page.context["spot"]), typed["b"]) == ("old 3", "terminal port 1 of step 2")
    crew.post(address, {**typed.dict(), **fields(page)})
    job.refresh_from_db()
    assert [each["verb"] for each in job.steps] == [
        "places.rename",
        "equipment.install",
        "joints.patch",
    ]
    assert job.steps[2]["arguments"]["length_m"] == 9
    assert job.steps[2]["arguments"]["b"]["step"] == 2


def test_a_step_that_was_altered_or_taken_out_meanwhile_is_not_overwritten(crew, bea, plant):
    rename = [step("places.rename", place=plant.flat(n), name=f"Flat {n}A") for n in "123"]
    job = drafted(plant, rename)
    address = f"/jobs/{job.pk}/steps/2/"
    mine = {**fields(crew.get(address)), "place": plant.flat("2"), "name": "Mine"}
    pressed(bea, job.pk, "remove", step=2)

    page = crew.post(address, mine)

    assert "1 step that you were shown is altered or taken out." in words(page)
    assert str(page.context["spot"]) == "new 2"
    crew.post(address, {**mine, **fields(page)})
    job.refresh_from_db()
    names = [each["arguments"]["name"] for each in job.steps]
    assert names == ["Flat 1A", "Mine", "Flat 3A"]


def test_details_saved_meanwhile_are_shown_beside_ones_own(crew, bea, plant):
    job = drafted(plant, [])
    address = f"/jobs/{job.pk}/details/"
    mine = {**fields(crew.get(address)), "name": "Mine", "place": plant.building}
    theirs = {**fields(bea.get(address)), "name": "Theirs", "place": plant.building}
    bea.post(address, theirs)

    page = crew.post(address, mine)

    assert page.status_code == 409
    assert page.context["theirs"] == [("What is to be done", "Theirs")]
    crew.post(address, {**mine, **fields(page)})
    job.refresh_from_db()
    assert job.name == "Mine"


def test_a_step_sent_twice_is_added_once(crew, plant):
    job = drafted(plant, [])
    address = f"/jobs/{job.pk}/steps/new/places.rename/"
    sent = {**fields(crew.get(address)), "place": plant.flat("3"), "name": "Flat 3A"}

    first, second = (crew.post(address, sent) for _ in range(2))

    job.refresh_from_db()
    assert len(job.steps) == 1
    assert first.url == second.url


def test_a_step_that_lacks_a_value_is_not_saved(crew, plant):
    job = drafted(plant, [])

    page = added(crew, job.pk, "places.rename", {"place": plant.flat("3"), "name": ""})

    assert page.status_code == 422
    assert "Nothing was saved." in words(page)


# --- Preview and recording -------------------------------------------------------------------


def previewed(client, job):
    return client.post(f"/jobs/{job}/preview/", follow=True)


def test_a_preview_tells_all_that_a_job_does(bea, plant):
    swap = step("joints.part", joint=plant.joint("S.1"))
    job = drafted(plant, [*connect(plant), swap])

    page = previewed(bea, job.pk)

    said = words(page)
    assert "on the record as it stood after change" in said
    assert "1 home goes dark" in said
    assert re.search(r"Alder Close, Block A, Flat 1 T1, step 3", said)
    assert "2 bookings touched" in said
    assert "Get light: 1" in said
    assert "Approve: the work may begin" in said


def test_a_preview_tells_who_is_dark_for_a_while(crew, plant):
    part = step("joints.part", joint=plant.joint("S.in"))
    join = step("joints.join", a=plant["P.1b"], b=plant["S.in"], kind="mated")
    job = drafted(plant, [part, join])

    said = words(previewed(crew, job.pk))

    assert "no home goes dark for good" in said
    assert "Dark for a while: 2" in said
    assert "T1 of Alder Close, Block A, Flat 1 from step 1 to step 2" in said


def test_a_preview_tells_who_is_dark_while_a_step_is_done(crew, plant):
    swap = step("swaps.swap", equipment=plant.id("S"), entry=entry("splitter", "1:8"))
    job = drafted(plant, [swap])

    said = words(previewed(crew, job.pk))

    assert "no home goes dark for good" in said
    assert "Dark for a while: 2" in said
    assert "T1 of Alder Close, Block A, Flat 1 while step 1 is done" in said
    assert "2 homes at other levels" in said


def test_a_clash_is_told_with_its_words_and_is_not_approved(crew, plant):
    clashing = step("bookings.book", leg=plant["S.3"], line=plant.line("2"))
    job = drafted(plant, [clashing])

    page = previewed(crew, job.pk)

    assert "Step 1 clashes: Book a leg" in words(page)
    assert "is held for line" in words(page)
    assert "Approve" not in words(page)


def test_a_job_for_a_building_that_is_gone_is_told_so(crew, plant):
    job = drafted(plant, [step("joints.part", joint=10**9)])
    with opened() as change:
        buildings.retire(change, plant.building)

    assert "Block A is retired" in words(previewed(crew, job.pk))
    page = crew.get("/jobs/new/")
    sent = {"token": page.context["token"], "name": "x", "place": plant.building}
    page = crew.post("/jobs/new/", sent)
    assert page.status_code == 409
    assert "Where : " in words(page)
    assert "Block A is retired" in words(page)


def test_a_job_is_approved_and_recorded_whole(crew, plant):
    with opened(actor=user("lead")) as change:
        job = jobs.draft(change, name="Connect", place=plant.building, steps=connect(plant))
    previewed(crew, job.pk)
    pressed(crew, job.pk, "approve")
    page = crew.get(f"/jobs/{job.pk}/preview/")

    page = crew.post(
        f"/jobs/{job.pk}/preview/", {"commit": "on", "revision": job.revision}, follow=True
    )

    job.refresh_from_db()
    assert job.state == JobState.RECORDED
    assert "The job is closed." in words(page)
    assert f"/changes/{job.steps[0]['change']}/undo/" in page.content.decode()
    assert Booking.objects.get(leg=plant["S.3"]).state == "live"


def test_who_planned_a_job_is_told_who_else_approves_it(crew, plant):
    job = drafted(plant, connect(plant))

    page = previewed(crew, job.pk)

    said = "was planned by crew, and nobody approves their own plan. Ask another of the crew"
    assert said in words(page)
    assert said in words(crew.get(f"/jobs/{job.pk}/"))
    assert 'value="approve"' not in page.content.decode()
    assert said in words(pressed(crew, job.pk, "approve"))


def test_an_owner_approves_their_own_plan_and_the_page_says_so(client, plant):
    client.force_login(get_user_model().objects.create_superuser("owner"))
    with opened(actor=user("owner")) as change:
        job = jobs.draft(change, name="Connect", place=plant.building, steps=connect(plant))

    page = previewed(client, job.pk)
    assert "You planned it yourself." in words(page)
    page = pressed(client, job.pk, "approve")

    assert "owner, revision 1 approved by its own planner" in words(page)


def test_a_record_changed_meanwhile_is_previewed_again_instead(crew, plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        bookings.release(change, plant["S.3"])
        bookings.bar(change, plant["S.3"], why="broken")

    page = crew.post(f"/jobs/{job.pk}/preview/", {"commit": "on", "revision": 1}, follow=True)

    assert "Nothing was recorded. Step 2" in words(page)
    assert "Step 2 clashes: Patch two ports" in words(page)
    job.refresh_from_db()
    assert job.state == JobState.APPROVED


def test_steps_are_ticked_off_one_by_one_and_the_last_one_closes(crew, plant):
    job = approved(plant, connect(plant))

    page = pressed(crew, job.pk, "tick", step=1)
    assert "Step 1 is recorded, as change" in words(page)
    assert "2 steps, 1 recorded" in words(page)
    page = pressed(crew, job.pk, "tick", step=1)
    assert "Step 1 is recorded" in words(page)
    page = pressed(crew, job.pk, "tick", step=2)

    assert "That was the last one: the job is closed." in words(page)
    job.refresh_from_db()
    assert job.state == JobState.RECORDED


def test_what_is_built_stays_on_the_first_page_until_it_is_recorded(crew, plant):
    job = approved(plant, connect(plant))
    assert "Built, not recorded" not in words(crew.get("/"))

    pressed(crew, job.pk, "built")
    assert "Built, not recorded: 1" in words(crew.get("/"))
    page = pressed(crew, job.pk, "drop", why="x")
    assert "built, not recorded" in words(page)

    pressed(crew, job.pk, "tick", step=1)
    pressed(crew, job.pk, "tick", step=2)
    assert "Built, not recorded" not in words(crew.get("/"))


def test_steps_that_are_recorded_or_of_a_closed_job_are_not_edited(crew, plant):
    job = approved(plant, connect(plant))
    pressed(crew, job.pk, "tick", step=1)

    page = crew.get(f"/jobs/{job.pk}/steps/1/", follow=True)
    assert "Step 1 is recorded already." in words(page)

    pressed(crew, job.pk, "tick", step=2)
    for address in ("steps/2/", "steps/new/", "steps/new/joints.join/"):
        page = crew.get(f"/jobs/{job.pk}/{address}", follow=True)
        assert "is recorded. Its steps can't be altered any more." in words(page)


# --- Lists -----------------------------------------------------------------------------------


def test_jobs_are_listed_by_state_place_assignee_and_date(crew, plant):
    day = date(2026, 3, 9)
    drafted(plant, [], name="Here", due_date=day, assignee=user("bea").pk)
    drafted(plant, [], name="There", place=plant.head_end)

    def listed(**asked):
        return [job.name for job, _where in crew.get("/jobs/", asked).context["jobs"]]

    assert listed() == ["Here", "There"]
    assert listed(state="recorded") == []
    assert listed(place="block a") == ["Here"]
    assert listed(place="nowhere at all") == []
    assert listed(assignee=user("bea").pk) == ["Here"]
    assert listed(due_from=day, due_until=day) == ["Here"]
    assert listed(due_from=day + timedelta(days=1)) == []


def test_the_pages_ask_the_same_of_the_database_for_many_jobs_and_steps(
    crew, plant, django_assert_max_num_queries
):
    for number in range(20):
        drafted(plant, connect(plant) * 1, name=f"Job {number}")
    job = drafted(plant, [step("bookings.unbar", leg=plant[f"S.{n}"]) for n in (1, 2, 3, 4)] * 6)

    with django_assert_max_num_queries(14):
        crew.get("/jobs/")
    with django_assert_max_num_queries(24):
        crew.get(f"/jobs/{job.pk}/")


def test_a_place_leads_to_its_jobs(crew, plant):
    job = drafted(plant, [])

    page = crew.get(f"/places/{plant.building}/").content.decode()

    assert f"/jobs/{job.pk}/" in page
    assert f"/jobs/new/?place={plant.building}" in page


def test_a_step_of_what_is_no_work_is_neither_shown_nor_tried(crew, plant):
    job = drafted(plant, connect(plant))
    sent = {"verb": "retention.forget_person", "person": user("bea").pk, "check": "on"}

    with nothing_written():
        new = crew.get(f"/jobs/{job.pk}/steps/new/retention.forget_person/")
        edited = crew.post(f"/jobs/{job.pk}/steps/1/", sent)

    assert (new.status_code, edited.status_code) == (404, 404)


def test_a_job_that_is_not_there_is_not_found(crew, plant):
    job = drafted(plant, [])
    for address in ("", "details/", "preview/", "steps/new/", "steps/1/"):
        assert crew.get(f"/jobs/999/{address}").status_code == 404
    assert crew.get(f"/jobs/{job.pk}/steps/7/").status_code == 404
    assert crew.get(f"/jobs/{job.pk}/steps/new/jobs.drop/").status_code == 404
    assert Change.objects.exists()


# --- From a spreadsheet ----------------------------------------------------------------------

SHEET = b"Verb,Leg,Line\nrelease leg,leg 3 of S,\nbook leg,leg %s of S,Flat 3\n"


def uploaded(client, plant, sheet):
    page = client.get("/jobs/from-sheet/", {"place": plant.building})
    file = SimpleUploadedFile("steps.csv", sheet)
    sent = {"token": page.context["token"], "name": "Move flat 3", "place": plant.building}
    return client.post("/jobs/from-sheet/", {**sent, "file": file}, follow=True)


def test_a_job_is_planned_from_a_spreadsheet(crew, plant):
    page = uploaded(crew, plant, SHEET % b"4")

    job = Job.objects.get()
    assert [each["verb"] for each in job.steps] == ["bookings.release", "bookings.book"]
    assert "The job is drafted with 2 steps." in words(page)
    assert "Row 3, Leg: It would be refused as the record is now: Leg 4 of S" in words(page)


def test_a_spreadsheet_with_faults_is_told_by_row_and_column_and_not_drafted(crew, plant):
    page = uploaded(crew, plant, SHEET % b"44")

    assert page.status_code == 422
    assert "1 fault: nothing was drafted" in words(page)
    assert "3 Leg leg 44 of S No point is called 'leg 44 of S'." in words(page)
    assert page.context["form"].data["name"] == "Move flat 3"
    assert not Job.objects.exists()


def test_a_spreadsheet_that_would_make_others_wait_is_not_tried(crew, plant):
    with nothing_written():
        page = uploaded(crew, plant, b"Verb,Leg\n" + b"release leg,leg 1 of S\n" * 201)

    assert "The sheet has 201 rows. At most 200 are taken here" in words(page)


def test_a_missing_or_unreadable_spreadsheet_is_said(crew, plant):
    assert "Choose a file, or paste the rows." in words(
        crew.post("/jobs/from-sheet/", {"name": "x", "place": plant.building})
    )
    assert "names no column 'Verb'" in words(uploaded(crew, plant, b"x"))
