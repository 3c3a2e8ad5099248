"""Every page against the rules of WCAG 2.2 AA, on a phone and on a desk, in light and in dark.

The rules are axe-core's, run in a real browser: contrast, names, landmarks, headings, tables.
Beside them two of our own: nothing is wider than the screen, and every control takes a thumb.
"""

import os
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from records.changes import catalogue, equipment, jobs, joints, readings, tags
from records.changes.figures import GivenFigure
from records.models import CatalogueEntry, Change, Channel, ColourScheme, OpticalClass
from records.models.tag_code import candidate
from records.queries.paths import paths
from tests.factories import AT, Plant, opened, user

PHONE = {"width": 390, "height": 844}
SCREENS = {
    "phone": (PHONE, "light"),
    "phone in the dark": (PHONE, "dark"),
    "small phone": ({"width": 320, "height": 640}, "light"),
    "desk": ({"width": 1280, "height": 900}, "light"),
}
LEVEL_AA = {
    "type": "tag",
    "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
}
CONTRAST = {"type": "rule", "values": ["color-contrast"]}
# It is the same page on each screen: only colours differ in the dark and on a desk, and on less
# room only what is too wide or too small.
RULES = {
    "phone": LEVEL_AA,
    "phone in the dark": CONTRAST,
    "small phone": None,
    "desk": CONTRAST,
}
THUMB_PX = 44
"""Source: WCAG 2.2, success criterion 2.5.5 (enhanced target size): 44 by 44 CSS pixels."""

SMALL_CONTROLS = f"""() => [...document.querySelectorAll(
    'main button, main .button, main input:not([type=hidden]), main select, header a.brand')]
  .filter(each => each.checkVisibility() && !each.closest('label'))
  .filter(each => each.getBoundingClientRect().height < {THUMB_PX} - .5)
  .map(each => each.outerHTML.slice(0, 120))"""
TOO_WIDE = """() => {
  const room = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= room) return [];
  return [...document.querySelectorAll('body *')]
    .filter(each => each.getBoundingClientRect().right > room + 1 && !each.children.length)
    .map(each => each.outerHTML.slice(0, 120)).slice(0, 3);
}"""

PLANT = """
    olt O x2
    splitter S 2:4
    splitter V 1:4
    panel P x2
    closure K
    cable F 1200 m x2
    cable D1 30 m
    cable D2 30 m
    outlet U1 @1
    outlet U2 @2
    terminal T1 @1
    terminal T2 @2
    flat 3
    light O.1 GPON B+
    light O.1 XGS-PON N1
    O.1 = F.1 = P.1 = S
    S.1 = D1 ~ U1 - T1
    S.2 = D2 ~ U2 - T2
    book S.3 for 3
    bar S.4 broken tail
"""
BLANK, BOUND, VOIDED = [
    code for code in map(candidate, range(2 * 10**10, 3 * 10**10, 123_456_789)) if code
][:3]
LABEL_PAGES = (
    "/labels/",
    "/labels/blank",
    "/labels/standing",
    "/labels/runs/",
    "/labels/rules",
    "/labels/stock",
)
NOT_THERE = ("/nothing/of/the/kind", "/tags/7K3M/", "/points/987654/")


def job_pages(plant):
    """Plan a job that darkens a home and clashes, and one that is built; return their pages."""

    def step(verb, **arguments):
        return {"verb": verb, "arguments": arguments, "note": "as agreed"}

    part = step("joints.part", joint=plant.joint("S.1"))
    told = {"place": plant.building, "due_date": AT.date(), "assignee": user().pk}
    with opened() as change:
        clashing = jobs.draft(
            change,
            name="Move flat 3",
            reference="W-7",
            steps=[part, step("bookings.book", leg=plant["S.3"], line=plant.line("2"))],
            **told,
        )
        built = jobs.draft(change, name="Clear flat 1", steps=[part, part | {"note": ""}], **told)
    for job in (clashing, built):
        jobs.preview(job.pk, actor=user(), at=AT)
    with opened() as change:
        jobs.edit(change, built.pk, revision=1, name=built.name, steps=[part], **told)
    jobs.preview(built.pk, actor=user(), at=AT)
    with opened(actor=user("lead")) as change:
        jobs.approve(change, built.pk, revision=2)
        jobs.mark_built(change, built.pk)
    return [
        "/jobs/?state=",
        f"/jobs/new/?place={plant.building}",
        "/jobs/from-sheet/",
        f"/jobs/{clashing.pk}/",
        f"/jobs/{clashing.pk}/details/",
        f"/jobs/{clashing.pk}/preview/",
        f"/jobs/{clashing.pk}/steps/new/",
        f"/jobs/{clashing.pk}/steps/new/joints.patch/?a={plant['S.3']}",
        f"/jobs/{clashing.pk}/steps/1/",
        f"/jobs/{built.pk}/",
        f"/jobs/{built.pk}/preview/",
    ]


def light_pages(plant):
    """Begin a take-over and confirm a figure; return the pages about light and the catalogue."""
    old = CatalogueEntry.objects.get(kind="splitter", name="1:4")
    figures = [
        GivenFigure(
            bound=row.bound,
            wavelength_min_nm=row.wavelength_min_nm,
            wavelength_max_nm=row.wavelength_max_nm,
            value_db=row.value_mdb / 1000,
            source="test sheets",
        )
        for row in old.figures.all()
    ]
    with opened() as change:
        begun = catalogue.supersede(change, old.pk, figures=figures)
        figure = old.figures.all()[0].pk
        catalogue.confirm(change, noun="figure", row=figure, edition="03/2026", table="2")
    lit = Channel.objects.filter(point=plant["O.1"]).order_by("pk")[0]
    pattern = CatalogueEntry.objects.get(kind="splitter", name="1:128").pk
    return [
        f"/points/{plant['T1']}/light/{lit.pk}/",
        f"/causes/equipment/{plant.id('S')}/",
        f"/causes/place/{plant.flat('3')}/",
        f"/what-if/place/{plant.building}/?first={pattern}",
        f"/what-if/equipment/{plant.id('S')}/",
        f"/what-if/place/{plant.estate}/?first={pattern}",
        f"/catalogue/entries/{old.pk}/",
        "/catalogue/take-overs/",
        f"/catalogue/take-overs/{begun.pk}/",
        "/do/catalogue.add/",
        "/do/catalogue.add/?kind=tap",
        f"/do/catalogue.supersede/?entry={begun.new_id}",
        f"/do/catalogue.confirm/?noun=figure&row={figure}",
    ]


def addresses_of_all_pages():
    """Build a plant in which every kind of page has something to show; return its pages."""
    plant = Plant(PLANT)
    level_dbm = paths(plant["T1"])[0].lit.level.typical_dbm
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=level_dbm - 9)
        readings.read(change, plant["T2"], wavelength_nm=1490, level_dbm=level_dbm)
        tags.issue(change, count=3, candidates=[BLANK, BOUND, VOIDED])
        tags.bind(change, BOUND, noun="equipment", thing=plant.id("S"))
        tags.void(change, VOIDED, why="torn")
    removed = plant.id("V")
    with opened(at=AT + timedelta(days=1)) as change:
        equipment.remove(change, removed)
    with opened(reason="works") as change:
        joints.part(change, plant.joint("S.2"))
    number = change.number
    equipment_pages = [f"/equipment/{plant.id(name)}/" for name in "OSPK"]
    point_pages = [
        f"/points/{plant[name]}/" for name in ("O.1", "S.in", "S.3", "T1", "T2", "F.1a")
    ]
    pages_of_jobs = job_pages(plant)
    pages_of_light = light_pages(plant)
    from_memory = OpticalClass.objects.filter(directions__confidence="memory only").first()
    return [
        "/",
        "/find?q=flat",
        "/find?q=nothing+of+the+kind",
        "/safety",
        "/intake/",
        "/intake/readings/",
        "/scan/",
        *LABEL_PAGES,
        f"/labels/print?equipment={plant.id('S')}",
        f"/labels/hazards/{plant.riser}/",
        *equipment_pages,
        f"/equipment/{plant.id('T1')}/",
        f"/equipment/{plant.id('U1')}/",
        *point_pages,
        f"/points/{plant['T2']}/?at={number - 1}",
        f"/places/{plant.estate}/",
        f"/places/{plant.building}/",
        f"/places/{plant.building}/exports/",
        f"/places/{plant.building}/exports/?addresses=true&at={number - 1}",
        f"/places/{plant.building}/pack/",
        f"/places/{plant.riser}/",
        f"/places/{plant.flat('1')}/",
        f"/cables/{plant.id('F')}/",
        f"/lines/{plant.line('1')}/",
        f"/below/cable/{plant.id('F')}/",
        *(f"/tags/{code}/" for code in (BLANK, BOUND, VOIDED)),
        f"/history/point/{plant['S.1']}/",
        f"/history/equipment/{removed}/",
        f"/history/place/{plant.building}/?first=2026-03-01",
        f"/changes/{number}/undo/",
        f"/changes/{Change.objects.order_by('number')[1].number}/undo/",
        f"/find?q=flat&at={number - 1}",
        "/changes/",
        "/changes/?first=x",
        f"/changes/{number}/",
        f"/changes/{Change.objects.order_by('number')[1].number}/",
        "/catalogue/",
        f"/catalogue/classes/{from_memory.pk}/",
        f"/catalogue/entries/{CatalogueEntry.objects.get(kind='splitter', name='1:32').pk}/",
        f"/catalogue/colours/{ColourScheme.objects.get(name='TIA-598').pk}/",
        *pages_of_jobs,
        *pages_of_light,
        "/do/",
        f"/do/bookings.book/?leg={plant['S.3']}",
        f"/do/joints.join/?a={plant['S.3']}",
        f"/do/joints.part/?joint={plant.joint('S.1')}",
        f"/do/readings.read/?point={plant['T1']}",
        "/do/equipment.install/",
        f"/do/buildings.renumber/?building={plant.building}",
        "/do/retention.forget_sightings/",
        *NOT_THERE,
    ]


@pytest.fixture
def browser(chromium):
    # Playwright's loop makes Django think that it is asked from asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--disable-background-networking", "--disable-sync"],
        )
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def session(live_server, client):
    """Return the cookie of someone signed in."""
    client.force_login(user())
    return {
        "name": "sessionid",
        "value": client.cookies["sessionid"].value,
        "url": live_server.url,
    }


def complaints(page, screen, address):
    """Return all that is wrong with a page as it stands, once it is shown on a screen."""
    viewport, colours = SCREENS[screen]
    page.set_viewport_size(viewport)
    page.emulate_media(color_scheme=colours)
    options = {"runOnly": RULES[screen], "resultTypes": ["violations"]}
    broken = Axe().run(page, options=options).response["violations"] if RULES[screen] else []
    found = [
        f"{screen}, {address}: {rule['id']}: {node['target']} {node['failureSummary']}"
        for rule in broken
        for node in rule["nodes"]
    ]
    wide = page.evaluate(TOO_WIDE)
    found += [f"{screen}, {address}: wider than the screen: {each}" for each in wide]
    small = page.evaluate(SMALL_CONTROLS)
    return found + [f"{screen}, {address}: too small for a thumb: {each}" for each in small]


@pytest.mark.parametrize("half", [0, 1])
def test_every_page_is_fit_for_everyone(live_server, session, browser, half):
    """Each page is loaded once and shown on each screen; in halves, so that two workers share."""
    addresses = addresses_of_all_pages()[half::2]
    context = browser.new_context(viewport=PHONE)
    context.add_cookies([session])
    page = context.new_page()
    found = []
    page.on(
        "console",
        lambda said: (
            found.append(f"{page.url}: {said.text}")
            if "Content Security Policy" in said.text
            else None
        ),
    )
    page.on("pageerror", lambda error: found.append(f"{page.url}: {error}"))

    for address in addresses:
        answer = page.goto(live_server.url + address)
        assert answer.status == (404 if address in NOT_THERE else 200), address
        for screen in SCREENS:
            found += complaints(page, screen, address)

    assert "\n".join(found) == ""


def test_the_sign_in_is_fit_for_everyone(live_server, browser):
    page = browser.new_page(viewport=PHONE)

    page.goto(f"{live_server.url}/sign-in?next=/changes/")

    assert complaints(page, "phone", "/sign-in") == []


def test_pages_work_without_javascript(live_server, session, browser):
    plant = Plant(PLANT)
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    context.add_cookies([session])
    page = context.new_page()

    page.goto(live_server.url)
    page.fill("#find", "flat 1")
    page.click("text=Find >> nth=-1")
    page.click("text=Alder Close, Block A, Flat 1")
    page.click(".light-of a")

    page.wait_for_url(f"**/points/{plant['T1']}/")
    page.click(".menu summary")
    page.wait_for_selector("text=Changes")


def test_results_come_as_one_types_and_keys_reach_them(live_server, session, browser):
    Plant(PLANT)
    context = browser.new_context(viewport=SCREENS["desk"][0])
    context.add_cookies([session])
    page = context.new_page()

    page.goto(live_server.url)
    page.keyboard.type("flat 2")
    # Of the answers that came for the letters on the way, only the last one stays.
    page.wait_for_selector("#found li:first-child a:has-text('Flat 2')")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")

    page.wait_for_function("document.activeElement.textContent.includes('Flat 2')")


def test_who_goes_dark_comes_when_it_is_scrolled_to(live_server, session, browser):
    plant = Plant(PLANT)
    context = browser.new_context(viewport=PHONE)
    context.add_cookies([session])
    page = context.new_page()

    page.goto(f"{live_server.url}/cables/{plant.id('F')}/")
    page.mouse.wheel(0, 20_000)
    page.wait_for_selector("text=Goes dark if it is cut: 2")

    page.wait_for_selector("text=Alder Close, Block A, Flat 1")
