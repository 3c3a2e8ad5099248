"""What the embedded fonts can draw, how wide it is, and what they refuse."""

import pytest
from PIL import ImageFont
from reportlab.pdfbase import pdfmetrics

from labels.typefaces import (
    BOLD,
    FONTS,
    REGULAR,
    MissingGlyphError,
    cap_height,
    font_file,
    measure,
)


def _drawn(text, weight=REGULAR):
    return "".join(run.text for run in measure(text, weight).runs)


@pytest.mark.parametrize(
    "text",
    [
        "7K3M-9QX8",
        "RŮŽOVÁ ŁÓDŹ ØRE ŞIŞLİ ẞ",
        "ΑΓΊΟΥ Ὀδός",
        "ЩИТ Ґ Ђ",
        "三号楼配线箱",
        "ひかり カ",
        "SP-03 配线箱",
    ],
)
def test_names_in_many_scripts_are_drawn_as_they_are_written(text):
    assert _drawn(text) == text


def test_arabic_is_joined_and_drawn_from_the_right():
    """The forms are Unicode's own: FE91 is BEH INITIAL, FEE9 HEH ISOLATED and so on."""
    measured = measure("باب", REGULAR)

    assert measured.is_right_to_left
    # Read from the left: final beh stands alone after alef, alef final, beh initial.
    assert [f"{ord(character):04X}" for run in measured.runs for character in run.text] == [
        "FE8F",
        "FE8E",
        "FE91",
    ]


def test_numbers_inside_arabic_keep_their_order():
    assert "A-12" in _drawn("قبو A-12 ب")
    assert _drawn("صندوق 24").startswith("24 ")


def test_hebrew_is_drawn_from_the_right():
    assert _drawn("ארון 3") == "3 ןורא"


def test_accents_are_composed():
    assert _drawn("e\u0301") == "é"


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("वितरण", r"'व' \(U\+0935, DEVANAGARI LETTER VA\)"),
        ("분배", r"U\+BD84"),
        ("q\u0303", r"U\+0303, COMBINING TILDE"),
        ("A\u0007", r"U\+0007"),
        ("\U0010fffd", r"U\+10FFFD, a character without a name"),
        ("ܐ", "SYRIAC LETTER ALAPH"),
        # No joined forms of these are in the fonts: their words would come out in pieces.
        ("سړک", "ARABIC LETTER REH WITH RING"),
        ("کۆشک ێ", "ARABIC LETTER YEH WITH SMALL V"),
    ],
)
def test_a_missing_glyph_is_refused_by_name(text, named):
    with pytest.raises(MissingGlyphError, match=named) as refused:
        measure(text, BOLD)

    assert "Arabic, Chinese or Japanese" in refused.value.hint


@pytest.mark.parametrize("weight", [REGULAR, BOLD])
def test_widths_agree_with_two_other_measurers(weight):
    text = "7K3M-9QX8 ΩЖ Ý"
    measured = measure(text, weight)
    (run,) = measured.runs
    outline = ImageFont.truetype(
        str(font_file(run.font)), 2048, layout_engine=ImageFont.Layout.BASIC
    )

    assert measured.width * 10 == pytest.approx(pdfmetrics.stringWidth(text, run.font, 10))
    assert measured.width == pytest.approx(outline.getlength(text) / 2048, rel=0.01)


def test_capitals_are_as_high_as_the_font_says():
    """0.729 em. Source: the font's own outline of H, 1493 of 2048 units."""
    assert cap_height(BOLD) == pytest.approx(1493 / 2048, abs=0.001)


def test_every_font_has_its_licence_beside_it():
    licences = {path.stem.removeprefix("LICENCE-") for path in FONTS.glob("LICENCE-*.txt")}

    for font in FONTS.glob("*.ttf"):
        assert any(font.stem.startswith(licence) for licence in licences), font
