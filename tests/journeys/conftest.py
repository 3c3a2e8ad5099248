"""A real browser on a live server, and pictures of what it saw in tests/output (not in git)."""

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from playwright.sync_api import expect, sync_playwright

PASSWORD = "legs and light"
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
OUTPUT = settings.BASE_DIR / "tests" / "output"
FLAGS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
WAIT_MS = 20_000
"""How long a page may take on a machine that is busy with other tests."""

expect.set_options(timeout=WAIT_MS)


def sign_in(page, name="ann"):
    page.goto("/")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Sign in")


def fits(page):
    """Tell whether nothing of a page runs off the side of the screen.

    Wait first for something that only this page shows: a click returns before the next page is in.
    """
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.fixture
def browser(chromium, monkeypatch):
    """Return a browser. Its driver runs an event loop, beside which Django asks no database."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def opened_page(browser, live_server):
    """Return what opens a page on a screen of some size, with or without scripts."""
    contexts = []

    def open_page(viewport=PHONE, *, has_scripts=True):
        context = browser.new_context(
            base_url=live_server.url, viewport=viewport, java_script_enabled=has_scripts
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(WAIT_MS)
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def crew(live_server):
    """Return a person who can sign in."""
    return get_user_model().objects.create_user("ann", password=PASSWORD)


@pytest.fixture
def seen():
    """Return what keeps a picture of a page."""
    OUTPUT.mkdir(exist_ok=True)

    def keep(page, name):
        page.screenshot(path=OUTPUT / f"{name}.png", full_page=True)

    return keep
