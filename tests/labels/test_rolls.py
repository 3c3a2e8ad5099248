"""Labels for rolls and tapes: whole dots, one label a page or a picture, all of them read."""

import io
import math

import pdfplumber
import pytest
from PIL import Image, ImageOps

from labels import seeds
from labels.design import KINDS
from labels.layout import lay_out
from labels.refusals import LabelRefusal
from labels.roll_pdf import roll_pdf
from labels.roll_png import roll_png
from labels.stock import DOT_MM
from tests.labels.readers import marks_mm, rasterised, read, read_png
from tests.labels.samples import SETTINGS, ports, sample

ROLLS = seeds.rolls()
LINK = "HTTPS://LABELS.ORG/T/7K3M9QX8"


def _drawing(kind, roll):
    try:
        return lay_out(sample(kind), roll.face(), SETTINGS)
    except LabelRefusal:
        return None


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("roll", ROLLS.values(), ids=ROLLS)
def test_every_kind_on_every_roll_is_read_from_picture_and_page(roll, kind):
    drawing = _drawing(kind, roll)
    if drawing is None:
        with pytest.raises(LabelRefusal):
            roll_png([sample(kind)], roll, SETTINGS)
        return

    pictures = roll_png([sample(kind)], roll, SETTINGS)
    printed = roll_pdf([sample(kind)], roll, SETTINGS)

    expected = [LINK] if drawing.qr else []
    assert read_png(pictures.images[0]) == expected
    assert read(rasterised(printed.content, 600)[0]) == expected
    assert pictures.notes == printed.notes == drawing.notes


@pytest.mark.parametrize("roll", ROLLS.values(), ids=ROLLS)
def test_a_picture_is_one_bit_at_the_printers_dots(roll):
    (content,) = roll_png([sample("home_outlet")], roll, SETTINGS).images

    picture = Image.open(io.BytesIO(content))

    assert picture.mode == "1"
    assert picture.size == (roll.width_dots, roll.height_dots)
    assert picture.info["dpi"][0] == pytest.approx(25.4 / DOT_MM[roll.dpi], abs=0.02)


@pytest.mark.parametrize("roll_id", ["die-51x25", "tape-24", "tape-24-600"])
def test_modules_of_a_picture_are_whole_pixels(roll_id):
    roll = ROLLS[roll_id]
    mark = lay_out(sample("port"), roll.face(), SETTINGS).qr
    assert mark
    (content,) = roll_png([sample("port")], roll, SETTINGS).images
    picture = Image.open(io.BytesIO(content)).convert("L")
    dots, quiet = mark.size.module_dots, 4 * mark.size.module_dots
    left = round(mark.x_mm / DOT_MM[roll.dpi]) + quiet
    top = round(mark.y_mm / DOT_MM[roll.dpi]) + quiet
    dark = {(x + i, y) for x, y, count in mark.symbol.runs for i in range(count)}

    for y in range(25):
        for x in range(25):
            box = (left + x * dots, top + y * dots, left + (x + 1) * dots, top + (y + 1) * dots)
            shades = picture.crop(box).getextrema()
            assert shades == ((0, 0) if (x, y) in dark else (255, 255))


@pytest.mark.parametrize("roll_id", ["die-51x25", "tape-24", "tape-24-600"])
def test_modules_of_a_page_are_whole_dots(roll_id):
    roll = ROLLS[roll_id]
    _, modules = marks_mm(roll_pdf([sample("port")], roll, SETTINGS).content)

    for box in modules:
        for edge_mm in box:
            dots = edge_mm / DOT_MM[roll.dpi]
            assert dots == pytest.approx(round(dots), abs=0.02)


def test_a_page_is_the_size_of_its_label():
    printed = roll_pdf(ports(3), ROLLS["tape-24"], SETTINGS)

    with pdfplumber.open(io.BytesIO(printed.content)) as document:
        sizes_mm = {(page.width * 25.4 / 72, page.height * 25.4 / 72) for page in document.pages}
    assert (printed.pages, printed.labels) == (3, 3)
    ((width_mm, height_mm),) = sizes_mm
    assert (width_mm, height_mm) == pytest.approx((70, 18), abs=0.09)


def test_text_of_a_picture_is_as_wide_as_measured():
    roll = ROLLS["die-51x25"]
    drawing = lay_out(sample("home_outlet"), roll.face(), SETTINGS)
    (content,) = roll_png([sample("home_outlet")], roll, SETTINGS).images
    ink = Image.open(io.BytesIO(content)).convert("L").point(lambda shade: 255 - shade).getbbox()

    (text,) = drawing.texts
    assert ink
    left_mm, right_mm = ink[0] * DOT_MM[203], ink[2] * DOT_MM[203]
    measured_mm = drawing.width_mm - 2 * text.x_mm
    assert text.x_mm <= left_mm
    assert right_mm <= text.x_mm + measured_mm
    assert right_mm - left_mm == pytest.approx(measured_mm, rel=0.05)


def test_the_same_labels_give_the_same_bytes():
    roll = ROLLS["tape-24"]

    assert roll_png(ports(5), roll, SETTINGS) == roll_png(ports(5), roll, SETTINGS)
    assert roll_pdf(ports(5), roll, SETTINGS) == roll_pdf(ports(5), roll, SETTINGS)


def test_a_wrap_along_a_tape_is_the_same_on_page_and_picture():
    roll = ROLLS["tape-18"]
    wrap = [sample("cable_wrap", diameter_mm=6)]

    picture = Image.open(io.BytesIO(roll_png(wrap, roll, SETTINGS).images[0])).convert("L")
    page = rasterised(roll_pdf(wrap, roll, SETTINGS).content, roll.dpi)[0].convert("L")

    assert picture.size == (roll.width_dots, roll.height_dots)
    drawn, printed = (ImageOps.invert(each).getbbox() for each in (picture, page))
    assert drawn
    assert drawn == pytest.approx(printed, abs=3)
    # The text is at the beginning of the tape; its end is the clear tail.
    assert drawn[2] * DOT_MM[roll.dpi] <= roll.label_width_mm - math.pi * 6
