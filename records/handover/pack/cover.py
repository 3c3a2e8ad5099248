"""The cover: what this is, of which moment, how to handle the plant, and how much there is."""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from records.handover.looks import INK
from records.handover.pack.grid import MM, Cell, Column, Grid, Row, row
from records.handover.pack.homes import latest
from records.handover.pack.inks import fill, stroke
from records.handover.pack.pages import Paragraph, heading
from records.handover.pack.told import Told
from records.handover.pack.type_set import Block, block, draw
from records.handover.pack.words import IN_ORDER, NONE, verdict_of
from records.models import LegCondition
from records.queries.words import counted

TITLE = "As-built pack"
NOTICE = (
    "Treat every fibre as live: the laser light is invisible.",
    "Never look into a fibre or port.",
    "Check the level with a power meter before looking at an end face, then use a camera probe.",
    "Inspect and clean both end faces before mating them.",
    "Collect fibre offcuts in a closed container.",
    "Fire-stopping, riser work and electrical work follow local codes and licensed practice.",
)
_PAIRS = (Column("", 42), Column("", 130))
_COUNTS = (Column("", 28), Column("", 12, "right"), Column("", 132))
_HAZARDS = (
    Column("Place", 60),
    Column("Hazard level", 24),
    Column("Stated on", 28),
    Column("Assessor", 60),
)


def cover(told: Told) -> Iterator[Flowable]:
    """Yield the cover."""
    built, names = told.built, told.names
    yield Paragraph(TITLE, size=11, after=2)
    name = names.place(built.place)
    yield Paragraph(name[:1].upper() + name[1:], size=26, is_bold=True, after=2 * MM)
    around = ", ".join(names.place(each) for each in built.around)
    kind = built.place.get_kind_display()
    yield Paragraph(f"{kind.capitalize()} in {around}" if around else kind.capitalize(), size=10)
    yield Paragraph("", size=6)
    yield Grid(_PAIRS, list(_pairs(told)), size=8.4)
    yield Paragraph("", size=8)
    yield Notice()
    yield from heading("What there is", told.marks)
    yield Grid(_COUNTS, list(_counts(told)), size=8.4)
    if built.hazards:
        yield from heading("Hazard levels, as stated by assessors", told.marks)
        yield Grid(_HAZARDS, list(_hazards(told)))


def moment(told: Told) -> str:
    """Return the change after which this stood, with its time."""
    change = told.built.change
    if change is None:
        return "before any change"
    return f"after change {change.number}, {change.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def _pairs(told: Told) -> Iterator[Row]:
    change = told.built.change
    yield _pair("As it stood", moment(told))
    if change is not None:
        yield _pair("Digest of the chain", f"change {change.number}: {change.digest}")
    yield _pair("Record number", f"place {told.built.place.pk}")
    if told.asked.asked_by and told.names.has_addresses:
        yield _pair("Asked for by", told.asked.asked_by)
    form = (
        "With addresses: for the owner of the record. Keep it as you keep the record."
        if told.names.has_addresses
        else "Without addresses: homes go by their lines, buildings by their numbers."
    )
    yield _pair("Form", form)
    yield _pair("Signed for the crew", "\n \n")
    yield _pair("Signed for the owner", "\n \n")


def _pair(name: str, words: str) -> Row:
    return row(Cell(name, is_bold=True), words)


def _counts(told: Told) -> Iterator[Row]:
    built = told.built
    homes = built.homes
    lit = [each for each in homes if each.paths]
    off = [each for each in lit if verdict_of(path.lit for path in each.paths) != IN_ORDER]
    read = Counter(str(one.verdict.outcome) for each in homes if (one := latest(each)))
    lines = sum(len(each.dwelling.lines) for each in homes)
    if homes:
        unread = len(homes) - read.total()
        yield row("Homes", str(len(homes)), f"with {counted(lines, 'line')}")
        yield row("With light", str(len(lit)), f"{len(lit) - len(off)} in order, {len(off)} not")
        yield row("Last readings", str(read.total()), _said({**read, "homes without one": unread}))
    legs = Counter(leg.condition for _, listed in built.splitters for leg in listed)
    order = {each: legs[each] for each in LegCondition.values}
    yield row("Splitters", str(len(built.splitters)), f"legs: {_said(order)}")
    fibres = Counter(fibre.condition for _, listed in built.cables for fibre in listed)
    yield row("Cables", str(len(built.cables)), f"fibres: {_said(fibres)}")


def _said(counts: dict[str, int]) -> str:
    return ", ".join(f"{count} {what}" for what, count in counts.items() if count) or NONE


def _hazards(told: Told) -> Iterator[Row]:
    for place in told.built.places:
        statement = told.built.hazards.get(place.pk)
        if statement is not None:
            assessor = told.names.said(statement.assessor)
            stated = statement.stated_date.isoformat()
            yield row(told.names.where(place), statement.level, stated, assessor)


class Notice(Flowable):
    """How to handle the plant, in a heavy frame."""

    _PAD = 4 * MM
    _SIZE = 9.2

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Set the words."""
        self._width = width
        self._blocks: list[Block] = [
            block(words, width - 2 * self._PAD, self._SIZE, is_bold=index == 0)
            for index, words in enumerate(NOTICE)
        ]
        return width, sum(each.height + 2 for each in self._blocks) + 2 * self._PAD

    def draw(self) -> None:
        """Draw frame and words."""
        canvas: Canvas = self.canv
        height = sum(each.height + 2 for each in self._blocks) + 2 * self._PAD
        stroke(canvas, INK, 2.2)
        canvas.rect(0, 0, self._width, height, stroke=1, fill=0)
        fill(canvas, INK)
        top = height - self._PAD
        for each in self._blocks:
            draw(canvas, each, (self._PAD, top), self._width - 2 * self._PAD)
            top -= each.height + 2
