"""Printed sheets, measured, rendered and read by other people's code."""

import io
import re
from itertools import islice

import pdfplumber
import pytest
from pdfminer.pdftypes import resolve1

from labels import seeds
from labels.design import KINDS, LabelSettings, label
from labels.layout import lay_out
from labels.print_run import NothingToPrintError
from labels.refusals import LabelRefusal
from labels.ruled_page import ruled_page
from labels.sheet_pdf import sheet_pdf
from labels.stock import Offset
from labels.text_fit import TextTooLongError
from tests.labels.readers import cropped, marks_mm, page_texts, rasterised, read
from tests.labels.samples import SETTINGS, ports, sample, samples

SHEETS = seeds.sheets()
A4_5X13 = SHEETS["A4-5x13"]
LINK = "HTTPS://LABELS.ORG/T/"


def _cell_box(cell, sheet):
    return cell.x_mm, cell.y_mm, sheet.label_width_mm, sheet.label_height_mm


def _printable(sheet):
    """Return one label of each kind that this sheet takes."""
    for one in samples().values():
        try:
            lay_out(one, sheet.face(), SETTINGS)
        except LabelRefusal:
            continue
        yield one


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_code_on_every_seeded_sheet_is_read_where_it_should_be(sheet, dpi):
    labels = list(_printable(sheet))
    printed = sheet_pdf(labels, sheet, SETTINGS)

    pages = rasterised(printed.content, dpi)

    for one, cell in zip(labels, sheet.cells(), strict=False):
        found = read(cropped(pages[cell.page], dpi, _cell_box(cell, sheet)))
        has_qr = lay_out(one, sheet.face(), SETTINGS).qr is not None
        assert found == ([LINK + one.code] if has_qr else []), one.kind.name


@pytest.mark.parametrize("dpi", [203, 300])
def test_every_code_of_a_full_sheet_of_ports_is_read(dpi):
    labels = ports(65)

    (page,) = rasterised(sheet_pdf(labels, A4_5X13, SETTINGS).content, dpi)

    for port, cell in zip(labels, A4_5X13.cells(), strict=False):
        assert read(cropped(page, dpi, _cell_box(cell, A4_5X13))) == [LINK + port.code]
    assert sorted(read(page)) == sorted(LINK + port.code for port in labels)


@pytest.mark.parametrize("offset", [Offset(), Offset(1.3, -0.7)])
@pytest.mark.parametrize("sheet_id", ["A4-5x13", "A4-3x7", "L-3x10"])
def test_marks_stand_within_a_tenth_of_a_millimetre(sheet_id, offset):
    sheet = SHEETS[sheet_id]
    port = sample("port")
    drawing = lay_out(port, sheet.face(), SETTINGS)
    mark = drawing.qr
    assert mark

    printed = sheet_pdf([port] * sheet.per_sheet, sheet, SETTINGS, offset=offset)
    chars, modules = marks_mm(printed.content)

    runs = len(mark.symbol.runs)
    for index, cell in zip(range(sheet.per_sheet), sheet.cells(1, offset), strict=False):
        left, top, right, bottom = _around(modules[index * runs : (index + 1) * runs])
        quiet_mm = mark.size.quiet_mm
        assert left == pytest.approx(cell.x_mm + mark.x_mm + quiet_mm, abs=0.1)
        assert top == pytest.approx(cell.y_mm + mark.y_mm + quiet_mm, abs=0.1)
        assert right - left == pytest.approx(25 * mark.size.module_mm, abs=0.01)
        assert bottom - top == pytest.approx(25 * mark.size.module_mm, abs=0.01)
        count = len(chars) // sheet.per_sheet
        text_left = min(char[0] for char in chars[index * count : (index + 1) * count])
        assert text_left == pytest.approx(cell.x_mm + drawing.texts[0].x_mm, abs=0.1)


def _around(boxes):
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_every_module_edge_is_on_a_dot_of_the_printer(dpi):
    printed = sheet_pdf([sample("port")] * 10, SHEETS["A4-3x7"], SETTINGS, dpi=dpi)
    dot_mm = SHEETS["A4-3x7"].face(dpi).dot_mm

    _, modules = marks_mm(printed.content)

    for box in modules:
        for edge_mm in box:
            dots = edge_mm / dot_mm
            # The foot of a page isn't on a dot: places are counted from its top left corner.
            assert dots == pytest.approx(round(dots), abs=0.02)


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_a_printed_symbol_is_as_wide_as_its_modules_and_dots(dpi):
    """The quiet zone isn't drawn; with it there are 8 modules more."""
    sheet = SHEETS["A4-3x7"]
    size = lay_out(sample("port"), sheet.face(dpi), SETTINGS).qr.size

    _, modules = marks_mm(sheet_pdf([sample("port")], sheet, SETTINGS, dpi=dpi).content)

    left, top, right, foot = zip(*modules, strict=True)
    side_mm = (17 + 4 * size.version) * size.module_dots * size.dot_mm
    assert max(right) - min(left) == pytest.approx(side_mm, abs=0.01)
    assert max(foot) - min(top) == pytest.approx(side_mm, abs=0.01)
    assert size.side_mm == pytest.approx(side_mm + 8 * size.module_mm)


@pytest.mark.parametrize("kind", KINDS)
def test_all_ink_of_a_label_stays_inside_its_cut(kind):
    sheet = SHEETS["A4-2x5"]
    printed = sheet_pdf([sample(kind)] * 3, sheet, SETTINGS)

    (page,) = rasterised(printed.content, 300)

    for cell in islice(sheet.cells(), 3):
        x, y, width, height = _cell_box(cell, sheet)
        rim = page.crop(tuple(round(v / 25.4 * 300) for v in (x, y, x + width, y + height)))
        inner = rim.crop((9, 9, rim.width - 9, rim.height - 9))
        rim.paste(255, (9, 9, 9 + inner.width, 9 + inner.height))
        dark = sum(rim.histogram()[:128])
        # Ticks of a flag are meant to reach the cut.
        assert dark == 0 or kind == "cable_flag"


def test_printing_starts_at_the_first_label_left_and_goes_on_to_the_next_page():
    printed = sheet_pdf(ports(3), A4_5X13, SETTINGS, start=64)

    assert (printed.pages, printed.labels) == (2, 3)
    first, second = page_texts(printed.content)
    assert first[:2] == ["1", "2"]
    assert second[0] == "3"


def test_the_same_labels_give_the_same_bytes():
    assert (
        sheet_pdf(ports(100), A4_5X13, SETTINGS).content
        == sheet_pdf(ports(100), A4_5X13, SETTINGS).content
    )


def test_the_text_of_a_sheet_is_code_number_and_given_lines_and_nothing_else():
    labels = ports(65)
    printed = sheet_pdf(labels, A4_5X13, SETTINGS, title="Print run 7")

    words = [word for page in page_texts(printed.content) for word in page]

    given = {text for port in labels for _, text in port.fields}
    codes = {f"{port.code[:4]}-{port.code[4:]}" for port in labels}
    assert set(words) == given | codes
    assert len(words) == 4 * 65


def test_no_text_of_any_kind_holds_an_address_an_occupant_or_a_service():
    printed = sheet_pdf(samples().values(), SHEETS["A4-2x5"], SETTINGS)

    text = " ".join(word for page in page_texts(printed.content) for word in page)

    assert not re.search(
        r"street|road|flat|floor|tenant|gpon|mbit|service|tel", text, re.IGNORECASE
    )


def test_every_font_is_embedded_and_only_those():
    labels = [sample("port"), sample("cupboard", name="صندوق"), sample("cupboard", name="配线箱")]
    printed = sheet_pdf(labels, SHEETS["A4-3x7"], SETTINGS)

    with pdfplumber.open(io.BytesIO(printed.content)) as document:
        fonts = resolve1(document.pages[0].page_obj.resources["Font"])
        named = {}
        for reference in fonts.values():
            font = resolve1(reference)
            descriptor = resolve1(font["FontDescriptor"])
            named[font["BaseFont"].name.split("+")[-1]] = "FontFile2" in descriptor

    assert named == {
        "DejaVuSansCondensed": True,
        "DejaVuSansCondensed-Bold": True,
        "DroidSansFallback": True,
    }


def test_viewers_are_told_not_to_scale():
    printed = sheet_pdf(ports(1), A4_5X13, SETTINGS)

    with pdfplumber.open(io.BytesIO(printed.content)) as document:
        catalog = document.doc.catalog
        assert resolve1(catalog["ViewerPreferences"])["PrintScaling"].name == "None"


def test_a_run_with_one_bad_label_prints_nothing_and_names_it():
    labels = [*ports(3), sample("port", equipment="W" * 60)]

    with pytest.raises(TextTooLongError) as refused:
        sheet_pdf(labels, A4_5X13, SETTINGS)

    assert refused.value.message.startswith(f"Label 4, port 7K3M-9QX8 12: '{'W' * 60}' needs")


def test_an_empty_run_is_refused():
    with pytest.raises(NothingToPrintError, match="no label to print"):
        sheet_pdf([], A4_5X13, SETTINGS)


def test_notes_of_a_run_are_said_once():
    printed = sheet_pdf(ports(40), SHEETS["A4-7x27"], SETTINGS)

    assert len(printed.notes) == 1
    assert printed.notes[0].endswith("Printed as text.")


def test_outlines_stand_where_the_labels_are():
    printed = sheet_pdf(ports(2), A4_5X13, SETTINGS, has_outlines=True)

    with pdfplumber.open(io.BytesIO(printed.content)) as document:
        curves = document.pages[0].curves
    left, top = curves[1]["x0"] * 25.4 / 72, curves[1]["top"] * 25.4 / 72
    assert (left, top) == pytest.approx((45.35, 10.7), abs=0.05)


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_the_ruled_page_shows_every_label_and_two_lengths_of_100_mm(sheet):
    content = ruled_page(sheet)

    with pdfplumber.open(io.BytesIO(content)) as document:
        (page,) = document.pages
        outlines = [mark for mark in (*page.curves, *page.rects) if mark["stroke"]]
        lengths_mm = [max(line["width"], line["height"]) * 25.4 / 72 for line in page.lines]
        words = "".join(char["text"] for char in page.chars)
    assert len(outlines) == sheet.per_sheet
    assert sum(length == pytest.approx(100, abs=0.05) for length in lengths_mm) == 2
    assert "print at 100 %" in words


def test_lower_case_links_are_read_too():
    settings = LabelSettings("LABELS.ORG", has_upper_case_link=False)
    printed = sheet_pdf([sample("port")], SHEETS["A4-3x7"], settings)

    (page,) = rasterised(printed.content, 203)

    assert read(page) == ["https://labels.org/t/7k3m9qx8"]


def test_blank_tags_carry_their_code_only():
    printed = sheet_pdf([label("blank", code="7K3M9QX8")], A4_5X13, SETTINGS)

    assert page_texts(printed.content) == [["7K3M-9QX8"]]
