"""Other people's code that looks at what was printed: renderers, decoders, rulers."""

import io
import itertools
import random

import pdfplumber
import pypdfium2
import zxingcpp
from PIL import Image

from records.models import tag_code

MM_PER_INCH = 25.4
POINTS_PER_MM = 72 / 25.4
QR_ONLY = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])


def codes(count, seed=1):
    draw = random.Random(seed)
    numbers = (draw.randrange(tag_code.NUMBER_COUNT) for _ in itertools.count())
    return [tag_code.issue(numbers, set().__contains__) for _ in range(count)]


def rasterised(pdf, dpi):
    """Render each page as a printer of that resolution would."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]
    finally:
        document.close()


def cropped(picture, dpi, box_mm):
    """Cut a rectangle (x, y, width, height in mm) out of a page."""
    x, y, width, height = (value / MM_PER_INCH * dpi for value in box_mm)
    return picture.crop((round(x), round(y), round(x + width), round(y + height)))


def read(picture):
    """Return the texts of all QR codes in a picture, by a decoder written by others."""
    found = zxingcpp.read_barcodes(picture.convert("L"), formats=QR_ONLY)
    return [barcode.text for barcode in found]


def read_png(content):
    picture = Image.open(io.BytesIO(content))
    framed = Image.new("L", (picture.width + 40, picture.height + 40), 255)
    framed.paste(picture.convert("L"), (20, 20))
    return read(framed)


def page_texts(pdf):
    """Return the words of each page, in the order of the file."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        return [[word["text"] for word in page.extract_words()] for page in document.pages]


def marks_mm(pdf, page=0):
    """Return characters and rectangles of a page as (left, top, right, bottom) in mm."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        found = document.pages[page]
        return [_mm(mark) for mark in found.chars], [_mm(mark) for mark in found.rects]


def _mm(mark):
    return tuple(mark[side] / POINTS_PER_MM for side in ("x0", "top", "x1", "bottom"))
