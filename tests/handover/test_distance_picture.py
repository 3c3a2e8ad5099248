"""The picture of a path to scale: level against distance, and that it never speaks by colour."""

from xml.etree import ElementTree as ET

import pytest

from records.changes import bookings, readings
from records.handover import distance_picture
from records.handover.standing_alone import alone
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
    """Return the path to a point and its picture as an element tree, styles and all."""
    (path,) = paths(plant[point])
    picture = distance_picture.drawn(path, readings_at(plant[point]))
    return path, ET.fromstring(alone(picture))  # noqa: S314 (our own)


def find(svg, tag, name):
    return [each for each in svg.iter(SVG + tag) if name in each.get("class", "").split()]


def pairs(element):
    return [tuple(map(float, pair.split(","))) for pair in element.get("points").split()]


def test_each_hop_lies_at_its_distance_and_level(plant):
    path, svg = drawn(plant)

    (line,) = find(svg, "polyline", "typical")
    (window,) = find(svg, "rect", "window")
    top, height = float(window.get("y")), float(window.get("height"))
    left, width = float(window.get("x")), float(window.get("width"))
    receiver = path.lit.optical_class.down
    span_db = receiver.overload_dbm - needed_dbm(receiver)
    for hop, (x, y) in zip(path.hops, pairs(line), strict=True):
        assert x == pytest.approx(left + width * hop.fibre_m / path.lit.fibre_m, abs=0.2)
        above_db = receiver.overload_dbm - hop.level.typical_dbm
        assert y == pytest.approx(top + height * above_db / span_db, abs=0.2)


def test_the_splitter_is_named_with_what_it_costs_at_one_place(plant):
    path, svg = drawn(plant)

    step = next(hop for hop in path.hops if hop.by_kind == "splitter")
    words = [text.text for text in find(svg, "text", "words")]
    assert any(f"S, {step.loss.typical_db:.1f}" in text for text in words)
    assert any("a terminal needs" in text for text in words)


def test_the_words_of_a_splitter_do_not_lie_on_a_limit_of_the_receiver(plant):
    (path,) = paths(plant["T1"])
    entered = next(hop for hop in path.hops if hop.spot.role == "input").level.typical_dbm
    overload_dbm = path.lit.optical_class.down.overload_dbm
    with opened() as change:  # so that the middle of the step is the receiver's upper limit
        bookings.measure(change, plant["S.1"], loss_db=round(2 * (entered - overload_dbm), 2))

    _, svg = drawn(plant)

    (window,) = find(svg, "rect", "window")
    top = float(window.get("y"))
    limits = [top, top + float(window.get("height"))]
    (words,) = (text for text in find(svg, "text", "words") if " S, " in text.text)

    # Words are drawn with their foot 4 below the middle of the line that they stand in.
    assert min(abs(float(words.get("y")) - 4 - limit) for limit in limits) >= 12


def test_good_and_bad_readings_differ_in_shape_and_say_their_level(plant):
    (path,) = paths(plant["T1"])
    typical_dbm = round(path.lit.level.typical_dbm, 2)
    shapes = []
    for level_dbm in (typical_dbm, typical_dbm - 9, None):
        with opened() as change:
            readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=level_dbm)
        _, svg = drawn(plant)
        shapes.append({each.get("d")[-1] == "Z" for each in find(svg, "path", "reading")})

    assert shapes == [{True}, {True, False}, {True, False}]
    assert "no light" in [text.text for text in find(svg, "text", "words")]


@pytest.mark.parametrize("point", ["O.1", "F.1a", "S.in", "T1"])
def test_a_path_of_any_length_can_be_drawn(plant, point):
    path, svg = drawn(plant, point)

    (line,) = find(svg, "polyline", "typical")
    assert len(pairs(line)) == len(path.hops)


def test_the_page_gives_the_styles_and_a_file_brings_its_own(plant):
    (path,) = paths(plant["T1"])
    picture = distance_picture.drawn(path)

    assert "style" not in picture
    assert alone(picture).count("<style>") == 1
