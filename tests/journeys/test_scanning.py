"""The scanner page in a real browser, with a camera that sees labels which were printed."""

import numpy as np
import pytest
import segno
from django.test import Client
from PIL import Image
from playwright.sync_api import ViewportSize, expect, sync_playwright

from labels import orders, owner, runs, shelf
from labels.choices import point_items
from records.models import JointEnd, Point, Sighting, Tag
from records.models.tag_code import grouped
from tests.factories import Plant, opened, user
from tests.labels.readers import rasterised
from tests.labels.test_runs import codes

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.xdist_group("browser")]

PHONE: ViewportSize = {"width": 390, "height": 844}
FRAME = (640, 480)
FRAMES_A_SECOND = 5
WAIT_MS = 20_000

PLANT = """
    olt O x2
    splitter S 1:4
    splitter V 1:4
"""


@pytest.fixture
def plant():
    return Plant(PLANT)


def printed_label(point, seed):
    """Print the label of a point and return it as a picture, as a printer of 203 dpi would."""
    items = point_items(Point.objects.get(pk=point))
    order = orders.Order(stock=shelf.stock("die-51x25"), settings=owner.settled())
    laid = runs.lay_out(items, order, codes(seed))
    with opened() as change:
        runs.record(change, laid, "a label")
    return rasterised(laid.file.content, 203)[0]


def seen(label):
    """Return a frame in which a hand holds a label before the camera, not quite straight."""
    frame = Image.new("L", FRAME, 120)
    held = Image.new("L", label.size, 255)
    held.paste(label)
    held = held.rotate(4, expand=True, fillcolor=120)
    frame.paste(held, ((FRAME[0] - held.width) // 2, (FRAME[1] - held.height) // 2))
    return frame


def video(path, *shots):
    """Write what the camera sees, so many seconds each, as an uncompressed film (YUV4MPEG2)."""
    chroma = np.full(FRAME[0] * FRAME[1] // 2, 128, np.uint8).tobytes()
    head = f"YUV4MPEG2 W{FRAME[0]} H{FRAME[1]} F{FRAMES_A_SECOND}:1 Ip A1:1 C420jpeg\n"
    with path.open("wb") as film:
        film.write(head.encode())
        for frame, seconds in shots:
            for _ in range(round(seconds * FRAMES_A_SECOND)):
                film.write(b"FRAME\n" + frame.tobytes() + chroma)
    return path


NOTHING = Image.new("L", FRAME, 90)


@pytest.fixture
def phone(chromium, live_server, monkeypatch):
    """Return what opens the scanner page on a phone whose camera plays a film, signed in."""
    # The browser's driver runs a loop in this thread; the database is asked between its steps.
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    client = Client()
    client.force_login(user())
    asked = []
    with sync_playwright() as playwright:
        browsers = []

        def opened_page(film=None, page="/scan/"):
            camera = [f"--use-file-for-fake-video-capture={film}"] if film else []
            browser = playwright.chromium.launch(
                executable_path=chromium,
                args=[
                    "--use-fake-ui-for-media-stream",
                    *(["--use-fake-device-for-media-stream", *camera] if film else []),
                ],
            )
            browsers.append(browser)
            context = browser.new_context(viewport=PHONE, base_url=live_server.url)
            session = client.cookies["sessionid"].value
            context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
            tab = context.new_page()
            tab.on("request", lambda request: asked.append(request.url))
            tab.on("pageerror", lambda error: asked.append(f"error: {error}"))
            tab.goto(page)
            return tab

        yield opened_page
        for browser in browsers:
            browser.close()
    assert all(url.startswith(live_server.url) for url in asked), asked


def test_a_label_before_the_camera_brings_up_its_thing(phone, plant, tmp_path):
    label = printed_label(plant["S.3"], seed=1)
    film = video(tmp_path / "one.y4m", (NOTHING, 1), (seen(label), 3))

    page = phone(film)

    scanned = page.locator("#scanned")
    expect(scanned).to_contain_text("leg 3 of S", timeout=WAIT_MS)
    page.get_by_role("link", name="Open its page").click()
    expect(page.locator("h1")).to_contain_text("leg 3", ignore_case=True)
    assert Sighting.objects.get().tag == Tag.objects.get(point=plant["S.3"])


def test_two_labels_in_a_row_are_joined(phone, plant, tmp_path):
    leg, port = printed_label(plant["S.3"], seed=1), printed_label(plant["V.in"], seed=2)
    film = video(
        tmp_path / "two.y4m",
        (NOTHING, 1),
        (seen(leg), 4),
        (NOTHING, 1),
        (seen(port), 4),
        (NOTHING, 9),
    )

    page = phone(film)

    page.locator("#scanned").get_by_text("Join", exact=True).click(timeout=WAIT_MS)
    expect(page.locator("h1")).to_have_text("Join two points")
    assert f"a={plant['S.3']}&b={plant['V.in']}" in page.url
    page.get_by_role("button", name="Join", exact=True).click()
    expect(page.locator(".message.success")).to_contain_text("oined leg 3 of S to input 1 of V")
    assert JointEnd.objects.filter(point=plant["S.3"]).exists()


def test_what_is_offered_lies_under_a_thumb(phone, plant, tmp_path):
    label = printed_label(plant["S.3"], seed=1)
    page = phone(video(tmp_path / "one.y4m", (seen(label), 3)))
    button = page.get_by_role("link", name="Open its page")
    expect(button).to_be_visible(timeout=WAIT_MS)

    box = button.bounding_box()
    wide = page.evaluate("document.documentElement.scrollWidth")

    assert box["height"] >= 44
    assert box["width"] > PHONE["width"] * 0.8
    assert box["y"] + box["height"] <= PHONE["height"]
    assert wide <= PHONE["width"]


def test_without_a_camera_the_code_is_typed(phone, plant):
    printed_label(plant["S.3"], seed=1)
    code = Tag.objects.get().code

    page = phone()
    expect(page.locator("#camera-said")).to_contain_text("Type the code")
    page.get_by_label("Code or line identifier").fill(grouped(code).lower())
    page.get_by_role("button", name="Read").click()

    expect(page.locator("#scanned")).to_contain_text("leg 3 of S")


def test_a_foreign_code_before_the_camera_is_said_to_be_one(phone, plant, tmp_path):
    code = segno.make("https://shop.example/item/12", error="m")
    rows = np.array([list(row) for row in code.matrix], np.uint8)
    picture = Image.fromarray(255 - rows * 255).resize(
        (len(rows) * 6,) * 2, Image.Resampling.NEAREST
    )
    framed = Image.new("L", (picture.width + 60, picture.height + 60), 255)
    framed.paste(picture, (30, 30))

    page = phone(video(tmp_path / "foreign.y4m", (seen(framed), 3)))

    expect(page.locator("#scanned [role=alert]")).to_contain_text(
        "is not a tag of this record", timeout=WAIT_MS
    )
    assert not Sighting.objects.exists()
