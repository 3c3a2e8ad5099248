"""The way of light to each home: its hops with the level at each, the budget, and the picture."""

from collections.abc import Iterator
from itertools import groupby

from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, PageBreak

from records.handover import distance_picture
from records.handover.figures import metres, minus, number, signed_db
from records.handover.pack.budget import COLUMNS, budget
from records.handover.pack.grid import MM, Cell, Column, Grid, Row, row
from records.handover.pack.homes import latest
from records.handover.pack.pages import Heading, Paragraph
from records.handover.pack.painting import Pictures
from records.handover.pack.told import Told
from records.handover.pack.words import NONE, read_words, short_names
from records.handover.path_picture import of_channel
from records.handover.strip import JOINT, Stage, stages
from records.optics.readings import Outcome
from records.queries.as_built import Home
from records.queries.levels import Lit
from records.queries.paths import Hop, Path
from records.queries.readings import Judged

ABOUT = "level at each hop, budget, verdict, last reading and picture"

_SIDE_BY_SIDE = 2
_WIDEST = 98 * MM
_HEAD_AND_SOME = 70 * MM


def section(told: Told) -> Iterator[Flowable]:
    """Yield a sheet for each home with light, each on a page of its own."""
    read: dict[int, list[Judged]] = {}
    for each in told.built.readings:
        read.setdefault(each.reading.point_id, []).append(each)
    is_first = True
    for home in told.built.homes:
        if not home.paths:
            continue
        if not is_first:
            yield PageBreak()
        is_first = False
        yield Heading(_title(told, home), told.marks, key=f"way-{home.dwelling.place.pk}")
        yield from _sheet(told, home, read)


def _title(told: Told, home: Home) -> str:
    place = home.dwelling.place
    lines = ", ".join(each.identifier for each in home.dwelling.lines)
    if not told.names.has_addresses:
        return lines or told.names.place(place)
    return f"{told.names.where(place)}: {lines}" if lines else told.names.where(place)


def _sheet(told: Told, home: Home, read: dict[int, list[Judged]]) -> Iterator[Flowable]:
    """Yield the ways of a home; channels that come by the same points stand side by side."""
    for _, alike in groupby(home.paths, key=lambda path: [hop.spot.point_id for hop in path.hops]):
        ways = list(alike)
        for start in range(0, len(ways), _SIDE_BY_SIDE):
            yield CondPageBreak(_HEAD_AND_SOME)
            yield from _way(told, home, ways[start : start + _SIDE_BY_SIDE], read)


def _way(
    told: Told, home: Home, ways: list[Path], read: dict[int, list[Judged]]
) -> Iterator[Flowable]:
    lit = ways[0].lit
    along = [each for hop in ways[0].hops for each in read.get(hop.spot.point_id, ())]
    by_way = [of_channel(path, along) for path in ways]
    names = " and ".join(path.lit.name for path in ways)
    far = f"{metres(lit.fibre_m)} of fibre from the OLT, light divided by {lit.split}"
    yield Paragraph(f"{names}: {far}.", after=3)
    yield Grid(_columns(ways), list(_hops(told, ways, by_way)), size=6.9, is_close=True)
    pictures = [
        (path.lit.name, distance_picture.picture(path, marks, told.names.owner))
        for path, marks in zip(ways, by_way, strict=True)
    ]
    yield Paragraph("", size=4)
    yield Grid(COLUMNS, list(budget(told, ways)), size=6.9, is_close=True)
    yield Paragraph("", size=3)
    for path in ways:
        yield from _wrong(path.lit)
    yield Paragraph(_last_read(told, latest(home)), is_bold=True, after=5)
    yield KeepTogether([Pictures(pictures, _WIDEST), Paragraph(_KEY, size=6.6, after=0)])


_KEY = (
    "Hatched: what the receiver takes. Band: least to most. Line: typical. Diamond: a reading as "
    "expected; cross: one that is not. Numbers are those of the table. How the margins are added "
    "up stands with the figures used."
)


def _columns(ways: list[Path]) -> tuple[Column, ...]:
    is_alone = len(ways) == 1
    levels = tuple(
        Column(head, 11.5 if is_alone else 9.2, "right")
        for system in short_names(path.lit for path in ways)
        for head in (
            "Loss, dB" if is_alone else f"{system}\nloss, dB",
            "least, dBm",
            "typical",
            "most",
        )
    )
    return (
        Column("", 4, "right"),
        Column("Point", 42 if is_alone else 36),
        Column("Through", 30 if is_alone else 25),
        Column("Fibre", 13, "right"),
        *levels,
        Column("Read", 24 if is_alone else 13),
    )


def _hops(told: Told, ways: list[Path], read: list[list[Judged]]) -> Iterator[Row]:
    """Yield a row a hop, those of one thing under its number."""
    at = {hop.spot.point_id: index for index, hop in enumerate(ways[0].hops)}
    marks: dict[int, list[Judged]] = {}
    for each in (one for of_way in read for one in of_way):
        marks.setdefault(each.reading.point_id, []).append(each)
    for stage in stages(ways[0].hops):
        for hop in filter(None, (stage.enter, stage.leave)):
            index = at[hop.spot.point_id]
            yield row(
                str(stage.number) if hop is stage.enter else "",
                _point(told, stage, hop),
                _through(hop),
                metres(hop.fibre_m) if hop.fibre_m else "0",
                *(
                    Cell(words, is_bold=place == 2)  # noqa: PLR2004 (the typical one)
                    for path in ways
                    for place, words in enumerate(_levels(path.hops[index]))
                ),
                "\n".join(_short(each) for each in marks.get(hop.spot.point_id, ())),
            )


def _levels(hop: Hop) -> tuple[str, ...]:
    level = hop.level
    lost = NONE if hop.by_kind == "launch" else number(hop.loss.typical_db)
    return (lost, *map(number, (level.least_dbm, level.typical_dbm, level.most_dbm)))


def _point(told: Told, stage: Stage, hop: Hop) -> str:
    own = hop.spot.label
    if hop is not stage.enter:
        return own
    where = told.names.where_of(hop)
    return ", ".join(filter(None, (f"{told.names.owner(hop)} {own}", where)))


def _through(hop: Hop) -> str:
    measured = " (measured)" if hop.is_measured else ""
    if hop.by_kind == JOINT:
        return f"{hop.by}{measured}"
    if hop.by_kind == "fibre":
        return f"{metres(hop.length_m)} {hop.by}{measured}"
    return f"{hop.by}{measured}"


def _short(judged: Judged) -> str:
    level = "no light" if judged.level_dbm is None else number(judged.level_dbm)
    return f"{level} {judged.verdict.outcome}" if judged.level_dbm is not None else level


def _wrong(lit: Lit) -> Iterator[Flowable]:
    """Yield what is wrong at either end, with its figures."""
    for end, verdicts in (("at the home", lit.down_verdicts), ("at the OLT", lit.up_verdicts)):
        for each in verdicts:
            yield Paragraph(f"{lit.name}, {end} {minus(each.words)}.", size=7.2, after=1)


def _last_read(told: Told, judged: Judged | None) -> str:
    if judged is None:
        return "Last reading at the home: none."
    reading = judged.reading
    at = f"{reading.taken_at:%Y-%m-%d %H:%M} UTC, {reading.wavelength_nm} nm"
    with_what = f", {reading.meter}" if reading.meter else ""
    who = told.built.people.get(reading.taken_by_id, "") if told.names.has_addresses else ""
    by = f", by {who}" if who else ""
    difference_db = judged.verdict.difference_db
    apart = "" if difference_db is None else f", {signed_db(difference_db)} against typical"
    told_read = f"{read_words(judged)}{apart} ({at}{with_what}{by})"
    return f"Last reading at the home, dBm: {told_read}{_last_good(judged)}."


def _last_good(judged: Judged) -> str:
    """Return the last good reading where the latest is none."""
    good, good_dbm = judged.last_good, judged.last_good_dbm
    if judged.verdict.outcome is Outcome.AS_EXPECTED or good is None or good_dbm is None:
        return ""
    return f"; last good {number(good_dbm)} on {good.taken_at:%Y-%m-%d}"
