"""The picture of a page shows what the printed page does."""

from xml.etree import ElementTree as ET

import pytest

from labels import seeds
from labels.print_run import NothingToPrintError
from labels.sheet_pdf import sheet_pdf
from labels.sheet_svg import sheet_svg
from tests.labels.readers import page_texts
from tests.labels.samples import SETTINGS, ports, samples

SVG = "{http://www.w3.org/2000/svg}"
SHEETS = seeds.sheets()


def _texts(svg):
    return [text.text for text in ET.fromstring(svg).iter(f"{SVG}text")]  # noqa: S314 - our own


@pytest.mark.parametrize(("start", "page"), [(1, 0), (64, 0), (64, 1), (1, 1)])
def test_each_page_shows_the_words_of_the_printed_page(start, page):
    sheet = SHEETS["A4-5x13"]
    labels = ports(80)
    printed = page_texts(sheet_pdf(labels, sheet, SETTINGS, start=start).content)

    svg = sheet_svg(labels, sheet, SETTINGS, start=start, page=page).svg

    assert sorted(_texts(svg)) == sorted(printed[page])


def test_labels_stand_where_they_are_printed():
    sheet = SHEETS["A4-5x13"]

    root = ET.fromstring(sheet_svg(ports(2), sheet, SETTINGS, start=3).svg)  # noqa: S314 - our own

    assert root.get("viewBox") == "0 0 210 297"
    places = [group.get("transform") for group in root.iter(f"{SVG}g")]
    assert places == ["translate(85.950 10.700)", "translate(126.550 10.700)"]


def test_every_kind_has_a_picture():
    svg = sheet_svg(list(samples().values()), SHEETS["A4-2x7"], SETTINGS).svg

    root = ET.fromstring(svg)  # noqa: S314 - our own
    assert len(list(root.iter(f"{SVG}g"))) == len(samples())
    assert {"A C2-R1", "\N{RIGHTWARDS ARROW} HE-01"} <= set(_texts(svg))


def test_a_page_without_labels_is_refused():
    with pytest.raises(NothingToPrintError):
        sheet_svg(ports(5), SHEETS["A4-5x13"], SETTINGS, page=1)


def test_a_picture_tells_what_its_labels_leave_out():
    low = sheet_svg(ports(2), SHEETS["A4-7x27"], SETTINGS)
    roomy = sheet_svg(ports(2), SHEETS["A4-3x7"], SETTINGS)

    assert "Printed as text." in low.notes[0]
    assert roomy.notes == ()
