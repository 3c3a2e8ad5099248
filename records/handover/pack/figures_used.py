"""The catalogue's figures that the levels stand on, each with its source and mark."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from records.handover.figures import number
from records.handover.pack.grid import Cell, Column, Grid, Row, row
from records.handover.pack.pages import Paragraph, heading
from records.handover.pack.told import Told
from records.handover.pack.words import NONE
from records.models import EntryKind
from records.optics.statistical import METHOD, share_within
from records.queries.as_built import ClassUsed, LossUsed
from records.queries.cases import K
from records.queries.citations import Citation
from records.queries.names import entry_name

ABOUT = "what the levels stand on, with source and mark"

_CLASSES = (
    Column("Class", 22),
    Column("Launch, dBm", 20, "right"),
    Column("Sensitivity", 16, "right"),
    Column("Overload", 14, "right"),
    Column("Penalty, dB", 14, "right"),
    Column("Loss, dB", 18, "right"),
    Column("Source", 56),
    Column("Mark", 28),
)
_LOSSES = (
    Column("Type", 34),
    Column("Band, nm", 20),
    Column("least", 12, "right"),
    Column("typical", 12, "right"),
    Column("most", 12, "right"),
    Column("", 10),
    Column("Source", 62),
    Column("Mark", 28),
)


def section(told: Told) -> Iterator[Flowable]:
    """Yield the tables of classes and of losses."""
    figures = told.built.figures
    if not figures.classes:
        return
    yield Paragraph(
        "A measured loss or length stands in place of these where the ways say so. Unconfirmed: "
        "from memory, and found in its document by no one yet."
    )
    yield Paragraph(
        f"Worst adds all extremes. Statistical: {METHOD}, k = {K:g}, from the weakest launch; "
        f"{share_within(K):.1%} of such paths lose no more. It stands beside the worst case, "
        "never in its place."
    )
    yield from heading("Optical classes", told.marks)
    yield Grid(_CLASSES, [_of_class(each) for each in figures.classes])
    yield from heading("Losses", told.marks)
    yield Grid(_LOSSES, [_of_loss(each) for each in figures.losses])


def _of_class(used: ClassUsed) -> Row:
    side = used.direction
    return row(
        Cell(str(side), is_bold=True),
        f"{number(side.launch_min_dbm, 1)} to {number(side.launch_max_dbm, 1)}",
        number(side.sensitivity_dbm, 1),
        number(side.overload_dbm, 1),
        number(side.penalty_db, 1),
        f"{number(side.loss_min_db, 1)} to {number(side.loss_max_db, 1)}",
        f"{side.standard}; {used.citation.source}",
        mark_of(used.citation),
    )


def _of_loss(used: LossUsed) -> Row:
    entry = used.entry
    version = f", version {entry.version}" if entry.version > 1 else ""
    branch = f", branch {used.branch}" if used.branch else ""
    return row(
        Cell(f"{entry_name(entry)}{branch}{version}", is_bold=True),
        f"{used.wavelength_min_nm}\N{EN DASH}{used.wavelength_max_nm}",
        *(NONE if each is None else number(each, 3) for each in _bounds(used)),
        "dB/km" if entry.kind == EntryKind.FIBRE else "dB",
        used.citation.source,
        mark_of(used.citation),
    )


def _bounds(used: LossUsed) -> tuple[float | None, ...]:
    return used.least_db, used.typical_db, used.most_db


def mark_of(citation: Citation) -> str:
    """Return how far a figure was confirmed."""
    if citation.is_unconfirmed:
        return "unconfirmed, from memory"
    if citation.confirmed is not None:
        return f"confirmed: {citation.confirmed.edition}, {citation.confirmed.table}"
    return citation.confidence
