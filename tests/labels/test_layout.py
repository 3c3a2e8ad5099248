"""Where things stand on a label, and what happens where they don't fit."""

import math

import pytest

from labels import seeds
from labels.cable_layout import CableSizeError
from labels.design import KINDS, LabelSettings, both_ends
from labels.layout import lay_out
from labels.qr import ModuleTooSmallError
from labels.refusals import LabelRefusal
from labels.stock import Face
from labels.typefaces import BOLD, cap_height, measure
from tests.labels.samples import SETTINGS, sample

SHEETS = seeds.sheets()
FACES = {
    **{sheet.id: sheet.face() for sheet in SHEETS.values()},
    **{roll.id: roll.face() for roll in seeds.rolls().values()},
}
DOT_MM = 25.4 / 600


def _extent(drawing):
    """Return left, top, right and bottom of all ink but the ticks and pictures."""
    boxes = []
    for text in drawing.texts:
        weight_widths = [measure(text.text, weight).width for weight in ("regular", "bold")]
        width_mm = min(weight_widths) * text.size_mm
        boxes.append((text.x_mm, text.baseline_mm - 0.5, text.x_mm + width_mm, text.baseline_mm))
    if drawing.qr:
        mark = drawing.qr
        side_mm = mark.size.side_mm
        boxes.append((mark.x_mm, mark.y_mm, mark.x_mm + side_mm, mark.y_mm + side_mm))
    boxes.extend(
        (min(xs), min(ys), max(xs), max(ys))
        for xs, ys in (zip(*shape.points_mm, strict=True) for shape in drawing.shapes)
    )
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def _laid_out_or_refused(kind, face):
    try:
        return lay_out(sample(kind), face, SETTINGS), None
    except LabelRefusal as refusal:
        return None, refusal


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("stock", FACES)
def test_every_kind_on_every_stock_stays_on_the_label_or_is_refused_with_a_figure(kind, stock):
    face = FACES[stock]

    drawing, refusal = _laid_out_or_refused(kind, face)

    if refusal:
        assert " mm" in refusal.message
        assert refusal.hint.startswith("Take ")
        return
    left, top, right, bottom = _extent(drawing)
    assert min(left, top) >= -1e-6
    if drawing.is_on_end:
        face = face.on_end()
    assert right <= face.width_mm + 1e-6
    assert bottom <= face.height_mm + 1e-6
    if KINDS[kind].has_qr and drawing.qr is None:
        assert any("Printed as text" in note for note in drawing.notes)
    if drawing.qr:
        assert drawing.qr.size.module_mm >= 0.35 - 1e-9


@pytest.mark.parametrize("kind", ["cable_wrap", "home_outlet", "caution"])
@pytest.mark.parametrize("stock", FACES)
def test_some_kinds_never_carry_a_qr(kind, stock):
    drawing, refusal = _laid_out_or_refused(kind, FACES[stock])

    assert refusal or drawing.qr is None


def test_port_labels_on_the_usual_sheet_carry_number_code_and_two_lines():
    drawing = lay_out(sample("port"), FACES["A4-5x13"], SETTINGS)

    assert [text.text for text in drawing.texts] == ["12", "7K3M-9QX8", "SP-03", "C2-R1"]
    assert drawing.qr
    assert drawing.qr.size.module_mm == pytest.approx(12 * DOT_MM)
    assert drawing.qr.symbol.level == "Q"
    assert drawing.notes == ()


def test_the_qr_gives_way_to_a_long_name_down_to_the_smallest_module():
    face = FACES["A4-5x13"]

    drawing = lay_out(sample("port", equipment="SPLITTERBOX0003WEST"), face, SETTINGS)

    assert drawing.qr
    assert drawing.qr.size.module_mm == pytest.approx(9 * DOT_MM)
    assert "SPLITTERBOX0003WEST" in [text.text for text in drawing.texts]


def test_a_label_too_low_for_a_qr_falls_to_text_and_says_so():
    drawing = lay_out(sample("port"), FACES["A4-7x27"], SETTINGS)

    assert drawing.qr is None
    assert drawing.notes[0].startswith(
        "A QR of 29 characters in 8.0 mm would have modules of 0.24"
    )
    assert drawing.notes[0].endswith("Printed as text.")
    assert "7K3M-9QX8" in [text.text for text in drawing.texts]


def test_a_required_qr_that_does_not_fit_is_refused():
    with pytest.raises(ModuleTooSmallError, match=r"modules of 0\.24 mm"):
        lay_out(sample("port"), FACES["A4-7x27"], LabelSettings("LABELS.ORG", requires_qr=True))


def test_low_wide_labels_set_small_fields_side_by_side():
    drawing = lay_out(sample("panel"), FACES["tape-12"], SETTINGS)

    assert [text.text for text in drawing.texts][-1] == "24 \N{MIDDLE DOT} C2-R1"


def test_a_narrow_flag_names_its_near_and_far_end_one_under_the_other():
    """A code that breaks at its hyphen is misread."""
    near, _far = both_ends(
        "cable_flag",
        codes=("7K3M9QX8", "7K3M9QX8"),
        place_codes=("K7MA-44X2", "9QWE-11T3"),
        diameter_mm=3,
        name="D-14",
        size="1F",
    )

    drawn = lay_out(near, seeds.sheets()["A4-3x7"].face(), SETTINGS)

    rows = [text.text for text in drawn.texts]
    assert rows == ["D-14", "7K3M-9QX8", "A K7MA-44X2", "→ 9QWE-11T3", "1F"]


@pytest.mark.parametrize("diameter_mm", [3.0, 5.0, 6.0, 8.0])
def test_a_wrap_leaves_at_least_one_turn_of_clear_tail(diameter_mm):
    drawing = lay_out(
        sample("cable_wrap", diameter_mm=diameter_mm), Face(60, 50, 1, DOT_MM), SETTINGS
    )

    lowest_mm = max(text.baseline_mm for text in drawing.texts)
    assert 50 - lowest_mm >= math.pi * diameter_mm
    assert "a flag can carry a QR" in drawing.notes[0]


def test_a_wrap_repeats_its_text_around_a_thick_cable():
    drawing = lay_out(sample("cable_wrap", diameter_mm=12), Face(60, 100, 1, DOT_MM), SETTINGS)

    assert sum("7K3M-9QX8" in text.text for text in drawing.texts) >= 3


def test_a_wrap_sets_its_fields_in_one_row_where_that_is_larger():
    long = lay_out(sample("cable_wrap", diameter_mm=6), Face(90, 50, 1, DOT_MM), SETTINGS)
    short = lay_out(sample("cable_wrap", diameter_mm=6), Face(22, 50, 1, DOT_MM), SETTINGS)

    assert long.texts[0].text == (
        "FC-0102 \N{MIDDLE DOT} 7K3M-9QX8 \N{MIDDLE DOT} A C2-R1 \N{RIGHTWARDS ARROW} HE-01"
    )
    assert [text.text for text in short.texts][:2] == ["FC-0102", "7K3M-9QX8"]
    assert long.texts[0].size_mm > short.texts[0].size_mm


def test_a_cable_too_thick_for_its_label_is_refused_with_its_circumference():
    """A cable of 10 mm is 31.4 mm around."""
    with pytest.raises(CableSizeError) as refused:
        lay_out(sample("cable_wrap", diameter_mm=10), FACES["A4-3x8"], SETTINGS)

    assert "A cable of 10 mm needs 31.4 mm of clear tail" in refused.value.message
    assert refused.value.hint == "Take a higher label, a longer piece of tape, or a flag."


@pytest.mark.parametrize("diameter_mm", [5.0, 6.0, 8.0])
def test_the_length_of_a_tape_goes_around_a_cable(diameter_mm):
    """Its width would not go around once and leave a clear tail."""
    tape = seeds.rolls()["tape-18"].face()

    drawing = lay_out(sample("cable_wrap", diameter_mm=diameter_mm), tape, SETTINGS)

    assert drawing.is_on_end
    assert (drawing.width_mm, drawing.height_mm) == (tape.height_mm, tape.width_mm)
    lowest_mm = max(text.baseline_mm for text in drawing.texts)
    assert tape.width_mm - lowest_mm >= math.pi * diameter_mm
    assert "7K3M-9QX8" in [text.text for text in drawing.texts]  # never broken in two


def test_a_cable_too_thick_for_a_tapes_length_is_refused():
    with pytest.raises(CableSizeError, match=r"62\.8 mm of clear tail") as refused:
        lay_out(sample("cable_wrap", diameter_mm=20), seeds.rolls()["tape-18"].face(), SETTINGS)

    assert "a longer piece of tape" in refused.value.hint


def test_a_thin_cord_gets_a_flag_instead_of_a_wrap():
    drawing = lay_out(sample("cable_wrap", diameter_mm=2), FACES["A4-3x7"], SETTINGS)

    assert "1.6 mm are seen square on" in drawing.notes[0]
    assert drawing.qr is not None


@pytest.mark.parametrize("diameter_mm", [0.9, 2.0, 3.0, 5.0])
def test_a_flag_leaves_the_cord_its_circumference_between_the_faces(diameter_mm):
    face = FACES["A4-2x7"]

    drawing = lay_out(sample("cable_flag", diameter_mm=diameter_mm), face, SETTINGS)

    assert drawing.qr
    quiet_right_mm = drawing.qr.x_mm + drawing.qr.size.side_mm
    text_left_mm = min(text.x_mm for text in drawing.texts)
    assert text_left_mm - quiet_right_mm >= math.pi * diameter_mm
    ticks_mm = sorted({sum(x for x, _ in shape.points_mm) / 4 for shape in drawing.shapes})
    assert ticks_mm[1] - ticks_mm[0] == pytest.approx(math.pi * diameter_mm + 1.0)


def test_a_flag_too_low_for_a_qr_has_its_text_on_both_faces():
    drawing = lay_out(sample("cable_flag"), FACES["tape-12"], SETTINGS)

    assert [text.text for text in drawing.texts].count("7K3M-9QX8") == 2
    assert drawing.notes[0].endswith("Printed as text on both faces.")


def test_a_flag_too_narrow_for_its_faces_is_refused():
    with pytest.raises(CableSizeError, match=r"needs 10\.4 mm for the cord and 10 mm for each"):
        lay_out(sample("cable_flag"), FACES["die-25x70"], SETTINGS)


def test_text_is_upper_case_but_a_line_identifier_stays_as_given():
    face = FACES["A4-3x7"]

    port = lay_out(sample("port", equipment="sp-03"), face, SETTINGS)
    home = lay_out(sample("home_outlet", line="fi-0042/a"), face, SETTINGS)

    assert "SP-03" in [text.text for text in port.texts]
    assert [text.text for text in home.texts] == ["fi-0042/a"]


def test_small_text_never_goes_under_its_floor():
    for stock, face in FACES.items():
        for kind in KINDS:
            drawing, refusal = _laid_out_or_refused(kind, face)
            if refusal:
                continue
            least_mm = min(text.size_mm for text in drawing.texts) * cap_height(BOLD)
            assert least_mm >= KINDS[kind].floor_cap_mm - 0.01, (stock, kind)
