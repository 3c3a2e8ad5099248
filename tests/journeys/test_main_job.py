"""The main job in a real browser: find, read, book, be refused, part and join, print labels."""

import re
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from django.conf import settings
from playwright.sync_api import expect

from records.models import Booking, Change, Tag
from tests.factories import Plant
from tests.journeys.conftest import DESK, PHONE, fits, sign_in

pytestmark = [pytest.mark.xdist_group("browser"), pytest.mark.usefixtures("crew")]

PLANT = """
    olt O x2
    splitter S1 1:4
    splitter S2 1:8
    cable F 1200 m x12
    cable D12 30 m
    outlet U12 @12
    terminal T12 @12
    flat 13
    flat 14
    flat 15
    light O.1 GPON B+
    O.1 = F.1 = S1
    S1.1 = S2
    S2.1 = D12 ~ U12 - T12
    book S2.2 for 13
"""


@pytest.fixture
def plant(live_server):
    return Plant(PLANT)


def level(page):
    """Return the expected level that a point's page shows, in dBm."""
    shown = page.locator(".expected").first.inner_text().replace("\N{MINUS SIGN}", "-")
    return float(re.findall(r"-?\d+\.\d+", shown)[0])


def test_the_main_job_on_a_phone(opened_page, plant, seen, tmp_path):
    page = opened_page(PHONE)
    broken = []
    page.on("pageerror", lambda error: broken.append(str(error)))
    sign_in(page)

    find_the_path_of_flat_12(page, plant, seen)
    book_a_spare_leg_for_flat_14(page, plant, seen)
    be_refused_a_booked_leg(page, plant, seen)
    part_and_join_and_see_the_level_change(page, plant, seen)
    print_a_sheet_and_read_its_codes(page, plant, seen, tmp_path)

    assert not broken


def find_the_path_of_flat_12(page, plant, seen):
    page.locator("#find").press_sequentially("flat 12")
    page.locator("#found a", has_text="Flat 12").first.click()
    page.locator(".light-of a").first.click()

    expect(page.get_by_text("Fed by leg 1 of S2")).to_be_visible()
    assert -21 < level(page) < -10
    assert page.locator(".strip").count() == 1
    assert fits(page)
    seen(page, "1 path of flat 12")


def book_a_spare_leg_for_flat_14(page, plant, seen):
    page.goto(f"/lines/{plant.line('14')}/")
    page.get_by_role("link", name="Book a leg").click()
    page.get_by_text("leg 3 of S2", exact=True).click()
    expect(page.locator("#effect")).to_contain_text("Booked leg 3 of S2")
    page.get_by_label("Reason").fill("job 77")
    assert fits(page)
    seen(page, "2 booking a leg")
    page.get_by_role("button", name="Book").click()

    expect(page.locator(".message.success")).to_contain_text("Booked leg 3 of S2")
    booking = Booking.objects.get(leg=plant["S2.3"])
    assert (booking.state, booking.line_id) == ("held", plant.line("14"))
    assert Change.objects.latest("number").reason == "job 77"
    seen(page, "3 booked")


def be_refused_a_booked_leg(page, plant, seen):
    page.goto(f"/do/bookings.book/?line={plant.line('15')}&leg={plant['S2.2']}")
    expect(page.locator("#effect")).to_contain_text("This would be refused.")
    page.get_by_role("button", name="Book").click()

    expect(page.get_by_role("alert")).to_contain_text("Nothing was recorded.")
    fault = page.locator(".row.faulty")
    expect(fault).to_contain_text("Leg 2 of S2 (Alder Close, Block A, Riser) is held for line")
    expect(fault).to_contain_text("Choose a spare leg, or release that booking first.")
    assert Booking.objects.open().filter(leg=plant["S2.2"]).get().line_id == plant.line("13")
    assert fits(page)
    seen(page, "4 refused")


def part_and_join_and_see_the_level_change(page, plant, seen):
    terminal = f"/points/{plant['T12']}/"
    page.goto(terminal)
    before_dbm = level(page)

    page.goto(f"/points/{plant['S2.1']}/")
    page.get_by_role("link", name="Part", exact=True).click()
    expect(page.locator("#effect")).to_contain_text("1 home goes dark")
    seen(page, "5 parting")
    page.get_by_role("button", name="Part").click()
    expect(page.locator(".message.success")).to_contain_text("Parted leg 1 of S2")
    page.goto(terminal)
    expect(page.get_by_text("No light reaches this point.")).to_be_visible()

    page.goto(f"/points/{plant['S2.1']}/")
    page.get_by_role("link", name="Join", exact=True).click()
    page.get_by_label("Second point: words to look up").press_sequentially("D12 fibre 1")
    page.get_by_text("A end of fibre 1 of D12", exact=True).click()
    expect(page.locator("#effect")).to_contain_text("1 home gets light")
    seen(page, "6 joining")
    page.get_by_role("button", name="Join").click()
    expect(page.locator(".message.success")).to_contain_text("Joined leg 1 of S2")
    page.goto(terminal)
    assert level(page) == before_dbm


def print_a_sheet_and_read_its_codes(page, plant, seen, tmp_path):
    page.locator(".menu summary").click()
    page.get_by_role("link", name="Labels").click()
    page.get_by_label("Place, equipment, cable or port").fill("S2")
    page.get_by_role("button", name="Look up").click()
    page.locator(".found a", has_text="S2").first.click()
    expect(page.get_by_role("button", name="Print", exact=True)).to_be_visible()
    assert fits(page)
    seen(page, "7 labels")
    page.get_by_role("button", name="Print", exact=True).click()
    address = page.get_by_role("link", name="Open the file").get_attribute("href")
    file = tmp_path / "labels.pdf"
    file.write_bytes(page.request.get(address).body())

    tags = Tag.objects.filter(point__equipment=plant.id("S2"))
    host = settings.LEGBOOK_HOST.upper()
    read = codes_on(file)
    assert {f"HTTP://{host}/T/{tag.code}" for tag in tags} < read
    assert len(read) == 10  # the box, its input, eight legs
    page.goto(f"/T/{tags.get(point=plant['S2.3']).code}")
    expect(page.get_by_role("heading", level=1)).to_contain_text(re.compile(r"leg\s3"))


def codes_on(file: Path):
    """Return what an independent decoder reads on the pages of a PDF, rendered as printed."""
    pages = pypdfium2.PdfDocument(file)
    return {
        code.text
        for each in pages
        for code in zxingcpp.read_barcodes(each.render(scale=300 / 72).to_pil())
    }


def test_a_leg_is_booked_without_scripts(opened_page, plant, seen):
    page = opened_page(PHONE, has_scripts=False)
    sign_in(page)

    page.goto(f"/do/bookings.book/?leg={plant['S2.4']}")
    page.locator("#id_line-words").fill("flat 14")
    page.locator("#id_line").get_by_role("button", name="Look up").click()
    page.locator("#id_line input[type=radio]").first.check()
    page.get_by_role("button", name="Check first").click()
    expect(page.locator("#effect")).to_contain_text("Booked leg 4 of S2")
    assert not Booking.objects.filter(leg=plant["S2.4"]).exists()
    seen(page, "8 without scripts")
    page.get_by_role("button", name="Book").click()

    expect(page.locator(".message.success")).to_contain_text("Booked leg 4 of S2")


def test_a_leg_is_booked_with_the_keyboard_alone(opened_page, plant):
    page = opened_page(DESK)
    sign_in(page)
    page.goto(f"/do/bookings.book/?leg={plant['S2.5']}")

    tab_to(page, "id_line-words")
    page.keyboard.type("flat 14")
    expect(page.locator("#line-offered input")).to_have_count(1)
    page.keyboard.press("Enter")
    expect(page.locator("#line-offered")).to_contain_text("Flat 14")
    assert not Booking.objects.filter(leg=plant["S2.5"]).exists()
    tab_to(page, "line", attribute="name")
    page.keyboard.press("Space")
    expect(page.locator("#effect")).to_contain_text("Booked leg 5 of S2")
    tab_to(page, "button.main", selector=True)
    page.keyboard.press("Enter")

    expect(page.locator(".message.success")).to_contain_text("Booked leg 5 of S2")


def tab_to(page, wanted, *, attribute="id", selector=False, most=60):
    """Press Tab until what is wanted has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        found = page.evaluate(
            "([wanted, attribute, selector]) => selector"
            " ? document.activeElement.matches(wanted)"
            " : document.activeElement.getAttribute(attribute) === wanted",
            [wanted, attribute, selector],
        )
        if found:
            return
    pytest.fail(f"{wanted} is not reached with the Tab key")
