"""A job in a real browser: planned on a phone, tried out, approved, ticked off, by two people."""

import pytest
from django.contrib.auth import get_user_model
from playwright.sync_api import expect

from records.models import Booking, Job, JobState
from tests.factories import Plant
from tests.journeys.conftest import DESK, PASSWORD, PHONE, fits, sign_in

pytestmark = [pytest.mark.xdist_group("browser"), pytest.mark.usefixtures("crew")]

PLANT = """
    olt O x2
    splitter S1 1:8
    cable F 1200 m x12
    cable D12 30 m
    outlet U12 @12
    terminal T12 @12
    flat 14
    light O.1 GPON B+
    O.1 = F.1 = S1
    S1.1 = D12 ~ U12 - T12
    book S1.2 for 14
"""


@pytest.fixture
def plant(live_server):
    return Plant(PLANT)


def choose(page, field, text):
    """Look a thing up in a field, and choose the first one found."""
    page.locator(f"#id_{field}-words").fill(text)
    page.locator(f"#id_{field}").get_by_role("button", name="Look up").click()
    page.locator(f"#id_{field} input[type=radio]").first.check()


def add(page, title):
    page.get_by_role("link", name="Add a step").first.click()
    page.get_by_role("link", name=title).first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text(title)


def save(page):
    page.get_by_role("button", name="Add step").click()
    expect(page.locator(".message.success")).to_contain_text("is added")


def test_a_job_from_plan_to_record_on_a_phone_without_scripts(opened_page, plant, seen):
    get_user_model().objects.create_user("bea", password=PASSWORD)
    page, second = opened_page(PHONE, has_scripts=False), opened_page(PHONE, has_scripts=False)
    sign_in(page)
    sign_in(second, "bea")

    plan_the_steps(page, plant, seen)
    try_it_out(page, seen)
    approve(page, second, seen)
    tick_a_step_and_record_the_rest(page, plant, seen)


def plan_the_steps(page, plant, seen):
    page.goto(f"/places/{plant.building}/")
    page.get_by_role("link", name="Plan a job").click()
    page.get_by_label("What is to be done").fill("Connect flat 14")
    page.get_by_label("Reference").fill("W-2041")
    page.get_by_role("button", name="Draft the job").click()
    expect(page.locator(".message.success")).to_contain_text("The job is drafted")
    assert fits(page)

    add(page, "Install equipment")
    page.get_by_role("link", name="home terminal").click()
    choose(page, "place", "flat 14")
    page.get_by_label("Name", exact=True).fill("T14")
    save(page)

    add(page, "Patch two ports")
    choose(page, "a", "S1 leg 2")
    expect(page.locator("#id_b")).to_contain_text("step 1 makes it")
    page.locator("#id_b").get_by_text("terminal port 1 of T14").click()
    page.get_by_role("button", name="Check first").click()
    expect(page.locator("#effect")).to_contain_text("1 home gets light")
    assert fits(page)
    seen(page, "jobs 1 a step that uses what a step makes")
    save(page)

    add(page, "Part a joint")
    choose(page, "joint", "S1 leg 1")
    save(page)
    expect(page.locator("#step-2")).to_contain_text("terminal port 1 of step 1")
    assert fits(page)
    seen(page, "jobs 2 planned")


def try_it_out(page, seen):
    page.get_by_role("button", name="Try it out").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("What it would do")
    main = page.locator("main")
    expect(main).to_contain_text("Tried out just now")
    expect(main).to_contain_text("1 home goes dark")
    expect(main).to_contain_text("Flat 12")
    expect(main).to_contain_text("T12, step 3")
    assert fits(page)
    seen(page, "jobs 3 tried out")


def approve(page, second, seen):
    """Have the job approved by another person than who planned it."""
    expect(page.locator("main")).to_contain_text("nobody approves their own plan")
    expect(page.get_by_role("button", name="Approve")).to_have_count(0)

    second.goto(page.url)
    second.get_by_role("button", name="Approve").click()
    expect(second.locator(".message.success")).to_contain_text("the work may begin")
    page.get_by_role("link", name="W-2041 Connect flat 14").click()
    expect(page.locator("main")).to_contain_text("Approvedbea, revision")


def tick_a_step_and_record_the_rest(page, plant, seen):
    page.get_by_role("button", name="It is built on site").click()
    expect(page.locator("main")).to_contain_text("Done on site, and the record")
    page.goto("/")
    expect(page.locator("main")).to_contain_text("Built, not recorded: 1")
    seen(page, "jobs 4 built, not recorded")
    page.get_by_role("link", name="W-2041 Connect flat 14").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Connect flat 14")

    page.get_by_role("button", name="Step 1 is done: record it").click()
    expect(page.locator("#step-1")).to_contain_text("recorded")
    assert fits(page)
    seen(page, "jobs 5 ticked")
    page.get_by_role("button", name="Try it out").click()
    page.get_by_role("button", name="Record all 2 steps as one change").click()

    expect(page.locator(".message.success")).to_contain_text("The job is closed.")
    assert Job.objects.get().state == JobState.RECORDED
    assert Booking.objects.get(leg=plant["S1.2"]).state == "live"
    page.goto("/")
    expect(page.locator("main")).not_to_contain_text("Built, not recorded")


def test_two_people_at_one_job_lose_nothing(opened_page, plant, seen):
    get_user_model().objects.create_user("bea", password=PASSWORD)
    ann, bea = opened_page(DESK), opened_page(PHONE)
    sign_in(ann)
    sign_in(bea, "bea")
    ann.goto(f"/jobs/new/?place={plant.building}")
    ann.get_by_label("What is to be done").fill("Renumber")
    ann.get_by_role("button", name="Draft the job").click()
    expect(ann.locator(".message.success")).to_contain_text("The job is drafted")

    add(ann, "Rename a place")
    ann.goto(f"{ann.url}&place={plant.flat('14')}")
    ann.get_by_label("Name", exact=True).fill("Flat 14A")
    bea.goto(f"/jobs/{Job.objects.get().pk}/")
    add(bea, "Rename a place")
    bea.goto(f"{bea.url}&place={plant.flat('12')}")
    bea.get_by_label("Name", exact=True).fill("Flat 12A")
    save(bea)
    ann.get_by_role("button", name="Add step").click()

    expect(ann.locator(".refusal")).to_contain_text("bea saved this job meanwhile")
    expect(ann.locator(".planned")).to_contain_text("Flat 12A")
    expect(ann.get_by_label("Name", exact=True)).to_have_value("Flat 14A")
    assert fits(ann)
    seen(ann, "jobs 6 saved meanwhile")
    expect(ann.get_by_label("Where yours goes")).to_have_value("new 2")
    ann.get_by_role("button", name="Save mine into it").click()
    expect(ann.locator("#step-2")).to_contain_text("Flat 14A")

    names = [step["arguments"]["name"] for step in Job.objects.get().steps]
    assert names == ["Flat 12A", "Flat 14A"]


def test_faults_of_a_spreadsheet_are_told_by_row_and_column(opened_page, plant, seen):
    page = opened_page(PHONE)
    sign_in(page)
    page.goto(f"/jobs/from-sheet/?place={plant.building}")
    page.get_by_label("What is to be done").fill("From a sheet")
    rows = "Verb,Leg,Line\nbook leg,leg {} of S1,Flat 12\nrelease leg,leg 2 of S1,\n"

    page.get_by_label("Or paste it here").fill(rows.format(99))
    page.get_by_role("button", name="Check the rows and draft the job").click()
    expect(page.locator("#faults")).to_contain_text("No point is called 'leg 99 of S1'.")
    assert fits(page)
    seen(page, "jobs 7 faults of a sheet")
    page.get_by_label("Or paste it here").fill(rows.format(4))
    page.get_by_role("button", name="Check the rows and draft the job").click()

    expect(page.locator(".message.success")).to_contain_text("drafted with 2 steps")
    seen(page, "jobs 8 drafted from a sheet")
