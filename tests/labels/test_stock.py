"""Sheets and rolls: geometry that closes, and refusals that name the figure."""

from dataclasses import replace
from itertools import islice

import pytest

from labels import seeds
from labels.stock import Offset, Roll, Sheet, StockError, dot_mm

SHEETS = seeds.sheets()
A4_5X13 = SHEETS["A4-5x13"]


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_seeded_sheet_closes_on_its_page(sheet):
    """Margins are even: 2 margins + (n - 1) pitches + 1 label = page."""
    across_mm = 2 * sheet.margin_left_mm + (sheet.columns - 1) * sheet.pitch_x_mm
    down_mm = 2 * sheet.margin_top_mm + (sheet.rows - 1) * sheet.pitch_y_mm

    assert across_mm + sheet.label_width_mm == pytest.approx(sheet.page_width_mm, abs=0.11)
    assert down_mm + sheet.label_height_mm == pytest.approx(sheet.page_height_mm, abs=0.11)
    assert sheet.source
    assert sheet.confidence


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_the_last_label_stays_on_the_page_at_half_a_millimetre_of_offset(sheet):
    cells = list(islice(sheet.cells(1, Offset(0.5, 0.5)), sheet.per_sheet))

    assert {cell.page for cell in cells} == {0}
    # What is printed keeps 1 mm inside the cut.
    assert cells[-1].x_mm + sheet.label_width_mm - 1 <= sheet.page_width_mm
    assert cells[-1].y_mm + sheet.label_height_mm - 1 <= sheet.page_height_mm


def test_labels_start_at_the_first_one_left_on_a_used_sheet():
    cells = list(islice(A4_5X13.cells(64), 3))

    assert [(cell.page, round(cell.x_mm, 2), round(cell.y_mm, 2)) for cell in cells] == [
        (0, 126.55, 265.1),
        (0, 167.15, 265.1),
        (1, 4.75, 10.7),
    ]


@pytest.mark.parametrize("start", [0, -1, 66])
def test_a_start_off_the_sheet_is_refused(start):
    with pytest.raises(StockError, match=f"labels 1 to 65; label {start} isn't there"):
        A4_5X13.cells(start)


def test_an_offset_that_runs_off_the_page_is_refused_with_its_limits():
    with pytest.raises(StockError, match=r"-6 mm right .* It can be -5\.75 to 5\.75 mm"):
        A4_5X13.cells(1, Offset(-6.0, 0.0))


@pytest.mark.parametrize("value", [11.0, float("nan"), float("inf")])
def test_an_offset_no_printer_has_is_refused(value):
    with pytest.raises(StockError, match="is no printer's offset"):
        Offset(value, 0.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"columns": 6}, r"run 35\.85 mm off the right edge"),
        ({"rows": 14}, r"run 10\.50 mm off the foot"),
        ({"pitch_x_mm": 30.0}, r"38\.1 mm side by side overlap at a pitch of 30 mm"),
        ({"pitch_y_mm": 20.0}, r"21\.2 mm one above the other overlap at a pitch of 20 mm"),
        ({"label_width_mm": 0.0}, "label width is 0"),
        ({"label_height_mm": float("nan")}, "label height is nan"),
        ({"rows": 0}, "rows is 0"),
        ({"margin_left_mm": -1.0}, "margin left is -1"),
    ],
)
def test_a_sheet_that_runs_off_the_page_can_not_be_made(change, words):
    with pytest.raises(StockError, match=words) as refused:
        replace(A4_5X13, **change)

    assert refused.value.code == "label_stock"
    assert "Measure the sheet again" in refused.value.hint


def test_all_faults_of_a_sheet_are_told_at_once():
    with pytest.raises(StockError, match=r"right edge .*; .* foot"):
        replace(A4_5X13, columns=6, rows=14)


@pytest.mark.parametrize("roll", seeds.rolls().values(), ids=seeds.rolls())
def test_a_roll_label_is_whole_dots(roll):
    face = roll.face()

    assert face.width_mm == pytest.approx(roll.width_dots * dot_mm(roll.dpi))
    assert roll.label_width_mm - dot_mm(roll.dpi) < face.width_mm <= roll.label_width_mm + 1e-6
    assert roll.label_height_mm - dot_mm(roll.dpi) < face.height_mm <= roll.label_height_mm + 1e-6


def test_a_roll_that_prints_beyond_its_material_can_not_be_made():
    with pytest.raises(StockError, match="prints 14 mm across 12 mm"):
        Roll("tape", "tape", 12, 50, 14, 300)


def test_an_unknown_resolution_is_refused_with_the_known_ones():
    with pytest.raises(StockError, match=r"180 dpi .* 203, 300, 600 dpi"):
        Roll("tape", "tape", 12, 50, 10, 180)


def test_a_tape_is_cut_to_any_length():
    assert seeds.rolls()["tape-24"].cut_to(100).face().width_mm == pytest.approx(100, abs=0.09)


def test_a_sheet_knows_how_many_labels_it_has():
    assert A4_5X13.per_sheet == 65
    assert Sheet("x", "A5", 148, 210, 1, 1, 148, 210, 148, 210, 0, 0).per_sheet == 1
