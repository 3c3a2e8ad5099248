"""The picture in a PDF: the very geometry that the page's SVG has."""

import io

import pdfplumber
import pytest
from reportlab.pdfgen.canvas import Canvas

from records.changes import readings
from records.handover import distance_picture, path_picture
from records.handover.pack.painting import paint
from records.handover.shapes import Hatched, Polyline, Stroke, Words
from records.queries.paths import paths
from records.queries.readings import readings_at
from tests.factories import Plant, opened
from tests.web.reading import PLANT


@pytest.fixture
def plant(db):
    plant = Plant(PLANT)
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-10)
    return plant


def painted(picture):
    """Return the only page of a PDF that holds the picture at its own size."""
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(picture.width, picture.height), invariant=1)
    canvas.translate(0, picture.height)
    canvas.scale(1, -1)
    paint(canvas, picture)
    canvas.save()
    return pdfplumber.open(stream).pages[0]


def of_kind(picture, kind, look):
    return [each for each in picture.shapes if isinstance(each, kind) and each.look == look]


@pytest.mark.parametrize("module", [distance_picture, path_picture])
def test_lines_and_words_lie_where_the_picture_has_them(plant, module):
    (path,) = paths(plant["T1"])
    picture = module.picture(path, readings_at(plant["T1"]))
    page = painted(picture)

    (line,) = of_kind(picture, Polyline, "typical")
    drawn = [[(x, y) for x, y in each["pts"]] for each in (*page.curves, *page.lines)]
    assert any(
        len(corners) == len(line.corners)
        and all(
            one == pytest.approx(other, abs=0.01)
            for one, other in zip(corners, line.corners, strict=True)
        )
        for corners in drawn
    )
    said = page.extract_text()
    for words in of_kind(picture, Words, "words read"):
        assert words.text.split("\N{NO-BREAK SPACE}")[0] in said


def test_the_window_is_hatched_inside_its_limits_alone(plant):
    (path,) = paths(plant["T1"])
    picture = distance_picture.picture(path)
    page = painted(picture)

    (window,) = of_kind(picture, Hatched, "window")
    limits = sorted({y for line in of_kind(picture, Stroke, "limit")[0].lines for _, y in line})
    assert limits == pytest.approx([window.y, window.y + window.height], abs=0.11)
    slanting = [
        each for each in page.lines if each["x0"] != each["x1"] and each["y0"] != each["y1"]
    ]
    assert len(slanting) > 20
