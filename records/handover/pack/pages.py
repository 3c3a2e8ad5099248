"""The pages of a pack: paper, heads and feet, headings, and the contents with their pages.

How many pages there are, and on which one a section begins, is known only at the end. Those
numbers are drawn as forms of the PDF, which may be used before they are filled in: so the pack is
laid out once, not twice.
"""

from collections.abc import Iterable, Iterator
from functools import partial
from io import BytesIO
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Flowable, Frame, PageTemplate

from labels.paper import Paper
from labels.typefaces import REGULAR, primary_font
from records.handover.looks import INK, QUIET, RULE
from records.handover.pack.grid import MM
from records.handover.pack.inks import fill, stroke
from records.handover.pack.type_set import Block, block, draw

MARGIN: Final = 16 * MM
TOP: Final = 21 * MM
FOOT: Final = 18 * MM
_SMALL: Final = 7.2
_TOTAL: Final = "page-count"
_NUMBER_WIDTH: Final = 12 * MM
_ROOM_BELOW: Final = 45 * MM


class Marks:
    """Where sections begin, filled in while pages are drawn, and the words of head and foot."""

    def __init__(self, *, left: str, right: str, foot: str) -> None:
        """Take the words that stand on every page."""
        self.left, self.right, self.foot = left, right, foot
        self.pages: dict[str, int] = {}


class _CountedCanvas(Canvas):
    """A canvas that fills in the numbers of pages when it is saved."""

    def __init__(self, marks: Marks, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._marks = marks

    def save(self) -> None:
        """Fill in what was not known before, and finish."""
        numbers = {_TOTAL: self.getPageNumber() - 1, **self._marks.pages}
        for name, number in numbers.items():
            size = _SMALL if name == _TOTAL else Contents.SIZE
            text = block(str(number), _NUMBER_WIDTH, size)
            self.beginForm(name, 0, -size, _NUMBER_WIDTH, size * 2)
            fill(self, QUIET if name == _TOTAL else INK)
            draw(self, text, (0, size), _NUMBER_WIDTH, share=0.0 if name == _TOTAL else 1.0)
            self.endForm()
        super().save()


class Heading(Flowable):
    """A heading: of a section (level 0), which the contents lead to, or below one (1, 2)."""

    _SIZES = (15.0, 10.5, 8.6)
    _BEFORE = (0.0, 4.5 * MM, 3 * MM)
    _AFTER = (3.5 * MM, 2 * MM, 1.2 * MM)

    def __init__(self, text: str, marks: Marks, *, level: int = 1, key: str = "") -> None:
        super().__init__()
        self._text, self._marks, self._level, self._key = text, marks, level, key

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Set the text."""
        self._width = width
        return width, self._block().height + self._AFTER[self._level]

    def getSpaceBefore(self) -> float:  # noqa: N802 (reportlab's own name)
        """Return the room above it."""
        return self._BEFORE[self._level]

    def draw(self) -> None:
        """Draw the text, and mark its page."""
        canvas: Canvas = self.canv
        text = self._block()
        fill(canvas, INK)
        draw(canvas, text, (0, text.height + self._AFTER[self._level]), self._width)
        if self._key:
            self._marks.pages.setdefault(self._key, canvas.getPageNumber())
            canvas.bookmarkHorizontal(self._key, 0, text.height + 10 * MM)
            canvas.addOutlineEntry(self._text, self._key, level=min(self._level, 1), closed=True)

    def _block(self) -> Block:
        return block(self._text, self._width, self._SIZES[self._level], is_bold=True)


def heading(text: str, marks: Marks) -> Iterator[Flowable]:
    """Yield a heading within a section, on the next page where little room is left for more."""
    yield CondPageBreak(_ROOM_BELOW)
    yield Heading(text, marks)


class Paragraph(Flowable):
    """Text over the width of the page."""

    def __init__(
        self, text: str, *, size: float = 8.4, after: float = 2 * MM, is_bold: bool = False
    ) -> None:
        super().__init__()
        self._text, self._size, self._after, self._is_bold = text, size, after, is_bold

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Set the text."""
        self._width = width
        return width, self._block().height + self._after

    def draw(self) -> None:
        """Draw the text."""
        text = self._block()
        fill(self.canv, INK)
        draw(self.canv, text, (0, text.height + self._after), self._width)

    def _block(self) -> Block:
        return block(self._text, self._width, self._size, is_bold=self._is_bold)


class Contents(Flowable):
    """The sections with their pages, each a link."""

    SIZE = 9.5
    _ROW = 7 * MM

    def __init__(self, sections: Iterable[tuple[str, str, str]]) -> None:
        super().__init__()
        self._sections = tuple(sections)

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Take a row a section."""
        self._width = width
        return width, self._ROW * len(self._sections)

    def draw(self) -> None:
        """Draw the rows; the numbers are filled in at the end."""
        canvas: Canvas = self.canv
        top = self._ROW * len(self._sections)
        for key, title, about in self._sections:
            fill(canvas, INK)
            draw(canvas, block(title, 56 * MM, self.SIZE, is_bold=True), (0, top), 56 * MM)
            fill(canvas, QUIET)
            room = self._width - 60 * MM - _NUMBER_WIDTH
            draw(canvas, block(about, room, self.SIZE - 1.5), (58 * MM, top - 1.2), room)
            canvas.saveState()
            canvas.translate(self._width - _NUMBER_WIDTH, top - self.SIZE)
            canvas.doForm(key)
            canvas.restoreState()
            stroke(canvas, RULE, 0.3)
            canvas.line(0, top - self._ROW + 2 * MM, self._width, top - self._ROW + 2 * MM)
            canvas.linkRect("", key, (0, top - self._ROW, self._width, top), relative=1)
            top -= self._ROW


def printed(flowables: list[Flowable], marks: Marks, title: str, paper: Paper) -> bytes:
    """Return the PDF; its bytes depend on nothing but what is drawn."""
    stream = BytesIO()
    width, height = paper.width_mm * MM, paper.height_mm * MM
    document = BaseDocTemplate(
        stream,
        pagesize=(width, height),
        title=title,
        author="",
        invariant=1,
        pageCompression=1,
        # Otherwise every page names a font that isn't embedded.
        initialFontName=primary_font(REGULAR),
    )
    frame = Frame(
        MARGIN,
        FOOT,
        width - 2 * MARGIN,
        height - TOP - FOOT,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    drawn = partial(_draw_edges, marks)
    document.addPageTemplates([PageTemplate("page", [frame], onPage=drawn)])
    document.build(flowables, canvasmaker=partial(_CountedCanvas, marks))
    return stream.getvalue()


def _draw_edges(marks: Marks, canvas: Canvas, document: BaseDocTemplate) -> None:
    """Draw head and foot of a page."""
    width, height = document.pagesize
    across = width - 2 * MARGIN
    top, half = height - 9 * MM, across / 2
    fill(canvas, QUIET)
    draw(canvas, block(marks.left, half, _SMALL), (MARGIN, top), half)
    draw(canvas, block(marks.right, half, _SMALL), (MARGIN + half, top), half, share=1.0)
    foot = 12 * MM
    room = across - 34 * MM
    draw(canvas, block(marks.foot, room, _SMALL), (MARGIN, foot), room)
    page = block(f"page {canvas.getPageNumber()} of ", 30 * MM, _SMALL)
    right = width - MARGIN - 7 * MM
    draw(canvas, page, (right - 30 * MM, foot), 30 * MM, share=1.0)
    canvas.saveState()
    canvas.translate(right + 0.8, foot - _SMALL)
    canvas.doForm(_TOTAL)
    canvas.restoreState()
    stroke(canvas, RULE, 0.4)
    for y in (height - 15.5 * MM, 14.5 * MM):
        canvas.line(MARGIN, y, width - MARGIN, y)
