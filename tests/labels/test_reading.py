"""How well a printed label is read when it is turned, blurred, noisy, far away or partly covered.

Rates are logged with each test (run with -rP to see them) and kept in the report's properties.
What must be reached was set from measurements of such symbols with this decoder: at level Q nearly
all are read with 6 % covered, and most with 10 %.
"""

import logging
import random

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from labels import seeds
from labels.sheet_pdf import sheet_pdf
from tests.labels.readers import cropped, rasterised, read
from tests.labels.samples import SETTINGS, ports

SHEET = seeds.sheets()["A4-5x13"]
DPI = 300
QR_SIDE_PIXELS = round(25 * 0.508 / 25.4 * DPI)


@pytest.fixture(scope="module")
def pictures():
    """Return label pictures with the text each must be read as, and a white frame."""
    labels = ports(65, seed=7)
    (page,) = rasterised(sheet_pdf(labels, SHEET, SETTINGS).content, DPI)
    found = []
    for port, cell in zip(labels, SHEET.cells(), strict=False):
        box = (cell.x_mm, cell.y_mm, SHEET.label_width_mm, SHEET.label_height_mm)
        found.append((cropped(page, DPI, box), f"HTTPS://LABELS.ORG/T/{port.code}"))
    return found


def _turned(picture, draw):
    return picture.rotate(
        draw.uniform(0, 360), Image.Resampling.BICUBIC, expand=True, fillcolor=255
    )


def _blurred(picture, draw):
    """Blur by 0.4 of a module: far more than half a dot."""
    return picture.filter(ImageFilter.GaussianBlur(0.4 * 6))


def _noisy(picture, draw):
    noise = np.random.default_rng(draw.randrange(10**6)).normal(0, 30, picture.size[::-1])
    noisy = np.clip(np.asarray(picture) + noise, 0, 255)
    return Image.fromarray(noisy.astype("uint8"))


def _far_away(picture, draw):
    """Three pixels a module, as a camera at arm's length sees it."""
    return picture.resize(
        (round(picture.width / 2), round(picture.height / 2)), Image.Resampling.BOX
    )


def _faint(picture, draw):
    return picture.point(lambda ink: 120 + ink * 80 // 255)


def _shaded(picture, draw):
    """Lay a shadow over a quarter of the label, right across the symbol."""
    shaded = picture.copy()
    part = picture.crop((0, 0, picture.width // 4, picture.height))
    shaded.paste(part.point(lambda ink: ink * 55 // 100), (0, 0))
    return shaded


def _covered(share):
    def cover(picture, draw):
        covered = picture.copy()
        side = round((share * QR_SIDE_PIXELS**2) ** 0.5)
        # Dirt falls anywhere but on the three finders: without one, no decoder finds a symbol.
        left, top, _, bottom = _dark_box(picture)
        module = (bottom - top) / 25
        x = round(draw.uniform(left + 9 * module, left + 25 * module - side))
        y = round(draw.uniform(top + 9 * module, top + 25 * module - side))
        ImageDraw.Draw(covered).rectangle((x, y, x + side, y + side), fill=draw.choice((0, 255)))
        return covered

    return cover


def _dark_box(picture):
    """Return the box of the QR, which is all ink in the left part of a label."""
    left_part = picture.crop((0, 0, round(picture.width * 0.46), picture.height))
    return left_part.point(lambda ink: 255 * (ink < 128)).getbbox()


@pytest.mark.parametrize(
    ("harm", "least_rate"),
    [
        pytest.param(_turned, 1.0, id="turned"),
        pytest.param(_blurred, 1.0, id="blurred"),
        pytest.param(_noisy, 1.0, id="noisy"),
        pytest.param(_far_away, 1.0, id="far away"),
        pytest.param(_faint, 1.0, id="faint"),
        pytest.param(_shaded, 1.0, id="partly in shadow"),
        pytest.param(_covered(0.03), 1.0, id="3 % covered"),
        pytest.param(_covered(0.06), 0.95, id="6 % covered"),
        pytest.param(_covered(0.10), 0.75, id="10 % covered"),
    ],
)
def test_a_harmed_label_is_read_and_never_read_wrongly(
    pictures, harm, least_rate, record_property
):
    draw = random.Random(11)

    results = [(read(harm(picture, draw)), text) for picture, text in pictures]

    rate = sum(found == [text] for found, text in results) / len(results)
    record_property("read_rate", rate)
    logging.getLogger(__name__).info("read rate %.0f %%", 100 * rate)
    assert all(found in ([], [text]) for found, text in results)
    assert rate >= least_rate
