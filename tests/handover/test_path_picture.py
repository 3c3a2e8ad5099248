"""The picture of a path: what it draws, and that it never speaks by colour alone."""

from xml.etree import ElementTree as ET

import pytest

from records.changes import equipment, readings
from records.handover import path_picture
from records.optics.classes import needed_dbm
from records.queries.paths import paths
from records.queries.readings import readings_at
from tests.factories import Plant, opened
from tests.web.reading import PLANT

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def drawn(plant, point="T1"):
    """Return the path to a point and its picture as an element tree."""
    (path,) = paths(plant[point])
    svg = str(path_picture.drawn(path, readings_at(plant[point])))
    return path, ET.fromstring(svg.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))  # noqa: S314


def find(svg, tag, name):
    return [each for each in svg.iter(SVG + tag) if name in each.get("class", "").split()]


def pairs(element):
    return [tuple(map(float, pair.split(","))) for pair in element.get("points").split()]


def test_the_line_has_a_point_at_each_hop_and_falls_with_the_level(plant):
    path, svg = drawn(plant)

    (line,) = find(svg, "polyline", "typical")
    across = [x for x, _ in pairs(line)]
    assert len(across) == len(path.hops)
    assert across == sorted(across, reverse=True)
    assert [y for _, y in pairs(line)] == sorted(y for _, y in pairs(line))


def test_levels_lie_on_one_scale_with_the_window_of_the_receiver(plant):
    path, svg = drawn(plant)

    (window,) = find(svg, "rect", "window")
    (line,) = find(svg, "polyline", "typical")
    left, width = float(window.get("x")), float(window.get("width"))
    receiver = path.lit.optical_class.down
    span_db = receiver.overload_dbm - needed_dbm(receiver)
    here_db = path.lit.level.typical_dbm - needed_dbm(receiver)
    assert pairs(line)[-1][0] == pytest.approx(left + width * here_db / span_db, abs=0.2)


def test_the_band_reaches_from_the_least_to_the_most(plant):
    path, svg = drawn(plant)

    (band,) = find(svg, "polygon", "band")
    (line,) = find(svg, "polyline", "typical")
    corners = pairs(band)
    count = len(path.hops)
    for most, typical, least in zip(
        corners[:count], pairs(line), reversed(corners[count:]), strict=True
    ):
        assert least[0] <= typical[0] <= most[0]
        assert least[1] == typical[1] == most[1]


def test_good_and_bad_readings_differ_in_shape_and_both_say_their_level(plant):
    (path,) = paths(plant["T1"])
    with opened() as change:
        typical_dbm = round(path.lit.level.typical_dbm, 2)
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=typical_dbm)
    _, good = drawn(plant)
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=typical_dbm - 9)
    _, both = drawn(plant)

    diamond = find(good, "path", "as-expected")[0].get("d")
    cross = find(both, "path", "off")[0].get("d")
    assert diamond.endswith("Z")
    assert not cross.endswith("Z")
    assert all(text.text.startswith("read ") for text in find(both, "text", "read"))


def test_a_dark_reading_is_marked_at_the_edge_in_words(plant):
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=None)

    _, svg = drawn(plant)

    assert [text.text for text in find(svg, "text", "read")] == ["no light"]


def test_the_picture_has_a_name_that_says_what_it_shows(plant):
    path, svg = drawn(plant)

    title = svg.find(SVG + "title")
    assert svg.get("role") == "img"
    assert svg.get("aria-labelledby") == title.get("id")
    assert path.lit.name in title.text


def test_the_picture_carries_no_styles_of_its_own(plant):
    _, svg = drawn(plant)

    assert not [each for each in svg.iter() if each.get("style") or each.tag == SVG + "style"]


def test_names_can_not_break_out_of_the_picture(db):
    plant = Plant("olt O\nsplitter S 1:4\nO.1 = S\nlight O.1 GPON B+")
    with opened() as change:
        equipment.rename(change, plant.id("S"), name="<script>&\"'")

    _, svg = drawn(plant, "S.1")

    assert "2 <script>&\"'" in [text.text for text in find(svg, "text", "hop")]
