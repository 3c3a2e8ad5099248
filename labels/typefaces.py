"""The fonts that travel with every label, what they can draw, and how wide it is.

Two families, embedded in every file: one condensed sans serif in two weights for Latin, Greek,
Cyrillic, Hebrew and Arabic, and one fallback for Chinese and Japanese. Both licences are free and
stand beside the fonts in fonts/.

Text stays in reading order everywhere else; `measure` alone turns Arabic and Hebrew into the
order and the joined letter forms in which they are drawn. Scripts that would need more than that
are refused by name: a wrong shape on a wall is worse than none.
"""

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from arabic_reshaper import ArabicReshaper
from bidi import get_display
from PIL import ImageFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from labels.refusals import LabelRefusal

REGULAR: Final = "regular"
BOLD: Final = "bold"

FONTS: Final = Path(__file__).resolve().parent / "fonts"
_FACES: Final = {REGULAR: "DejaVuSansCondensed", BOLD: "DejaVuSansCondensed-Bold"}
_FALLBACK: Final = "DroidSansFallbackFull"

# Keep vowel marks: leaving them out would change the text in silence.
_RESHAPER: Final = ArabicReshaper({"delete_harakat": False, "delete_tatweel": False})
_RIGHT_TO_LEFT: Final = frozenset({"R", "AL"})
# Unicode's blocks of the letters and of their joined forms.
_ARABIC: Final = (range(0x0600, 0x0700), range(0xFB50, 0xFE00), range(0xFE70, 0xFF00))
_JOINED_FORMS: Final = range(0xFB50, 0xFF00)
_HEBREW: Final = (range(0x0590, 0x0600), range(0xFB1D, 0xFB50))


class MissingGlyphError(LabelRefusal):
    """A character that no embedded font can draw as it should be drawn."""

    code = "missing_glyph"


@dataclass(frozen=True, slots=True)
class Run:
    """Consecutive characters of one font, in the order in which they are drawn."""

    font: str
    text: str


@dataclass(frozen=True, slots=True)
class Measure:
    """A text as it will be drawn, in parts of the font size (em).

    `above` and `below` are the ink over and under the baseline.
    """

    runs: tuple[Run, ...]
    width: float
    above: float
    below: float
    is_right_to_left: bool


@lru_cache(maxsize=16_384)
def measure(text: str, weight: str) -> Measure:
    """Measure one row of text in a weight.

    Raises: MissingGlyphError naming the character.
    """
    reads_right_to_left = any(unicodedata.bidirectional(c) in _RIGHT_TO_LEFT for c in text)
    drawn = _drawn_order(text) if reads_right_to_left else unicodedata.normalize("NFC", text)
    runs = _runs(drawn, weight)
    glyphs = [_glyph(run.font, character) for run in runs for character in run.text]
    return Measure(
        runs,
        width=sum(width for width, _, _ in glyphs),
        above=max((above for _, above, _ in glyphs), default=0.0),
        below=max((below for _, _, below in glyphs), default=0.0),
        is_right_to_left=reads_right_to_left and _starts_right_to_left(text),
    )


@lru_cache
def cap_height(weight: str) -> float:
    """Return the height of a capital in parts of the font size."""
    return _glyph(_FACES[weight], "H")[1]


def primary_font(weight: str) -> str:
    """Return the registered name of a weight, for whoever opens a page."""
    _font(_FACES[weight])
    return _FACES[weight]


def font_file(name: str) -> Path:
    """Return the file of a font by the name that a run carries."""
    return FONTS / f"{name}.ttf"


def _drawn_order(text: str) -> str:
    """Join Arabic letters and put right-to-left text in the order of drawing."""
    display = get_display(_RESHAPER.reshape(unicodedata.normalize("NFC", text)))
    return str(display)


def _starts_right_to_left(text: str) -> bool:
    directions = (unicodedata.bidirectional(character) for character in text)
    return next((d for d in directions if d in {"L", "R", "AL"}), "L") in _RIGHT_TO_LEFT


def _runs(drawn: str, weight: str) -> tuple[Run, ...]:
    runs: list[Run] = []
    for character in drawn:
        font = _font_for(character, weight)
        if runs and runs[-1].font == font:
            runs[-1] = Run(font, runs[-1].text + character)
        else:
            runs.append(Run(font, character))
    return tuple(runs)


@lru_cache(maxsize=4096)
def _font_for(character: str, weight: str) -> str:
    if _is_drawn_alone(character):
        for font in (_FACES[weight], _FALLBACK):
            if ord(character) in _font(font).face.charToGlyph:
                return font
    name = unicodedata.name(character, "a character without a name")
    raise MissingGlyphError(
        f"The label fonts can't draw {character!r} (U+{ord(character):04X}, {name}) as it should "
        "look.",
        "Write the name in Latin, Greek, Cyrillic, Hebrew, Arabic, Chinese or Japanese letters, "
        "or leave this field off the label.",
    )


def _is_drawn_alone(character: str) -> bool:
    """Tell whether a character stands right without a shaping engine.

    Marks that have no joint form with their letter don't, nor do the right-to-left scripts
    besides Hebrew and Arabic, nor controls; Arabic vowel marks do well enough. An Arabic letter
    that wasn't turned into one of its joined forms, as of Pashto or Kurdish, has none here and
    would break its word apart.
    """
    is_arabic = any(ord(character) in block for block in _ARABIC)
    is_hebrew = any(ord(character) in block for block in _HEBREW)
    category = unicodedata.category(character)
    if category[0] in "MC":
        return is_arabic and category == "Mn"
    if is_arabic and category == "Lo":
        return ord(character) in _JOINED_FORMS
    reads_right_to_left = unicodedata.bidirectional(character) in _RIGHT_TO_LEFT
    return is_arabic or is_hebrew or not reads_right_to_left


@lru_cache(maxsize=8192)
def _glyph(font: str, character: str) -> tuple[float, float, float]:
    """Return width, ink above and ink below the baseline, in parts of the font size."""
    width = _font(font).face.getCharWidth(ord(character)) / 1000
    _, top, _, bottom = _outline(font).getbbox(character, anchor="ls")
    return width, -top / _OUTLINE_SIZE, bottom / _OUTLINE_SIZE


_OUTLINE_SIZE: Final = 1000


@lru_cache
def _outline(font: str) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(
        str(font_file(font)), _OUTLINE_SIZE, layout_engine=ImageFont.Layout.BASIC
    )


@lru_cache
def _font(name: str) -> TTFont:
    font = TTFont(name, str(font_file(name)))
    pdfmetrics.registerFont(font)
    return font
