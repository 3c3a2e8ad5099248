"""From a row's cells to its values, with every fault that one row shows by itself."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from records.intake import _cells
from records.intake._cells import CellError, Level, PonPort, Storey
from records.intake._faults import Findings
from records.intake._sheet import Row, Sheet

V = TypeVar("V")

LEGS_MAX = 128
FIBRES_MAX = 6912
LENGTH_MAX_M = 100_000
"""What the verbs allow at most; a row is refused here so that it is named."""

WAVELENGTHS_NM = (1260, 1675)

_LIMITS = {
    "estate": 80,
    "building": 80,
    "flat": 70,
    "cupboard": 80,
    "splitter": 60,
    "ratio": 60,
    "cable": 60,
    "outlet": 60,
    "serial": 60,
    "line": 30,
    "note": 200,
}
_READERS: dict[str, Callable[[str], Any]] = {
    "floor": _cells.storey,
    "leg": lambda cell: _cells.whole(cell, 1, LEGS_MAX),
    "fibre": lambda cell: _cells.whole(cell, 1, FIBRES_MAX),
    "fibre_count": lambda cell: _cells.whole(cell, 1, FIBRES_MAX),
    "length_m": lambda cell: _cells.length(cell, LENGTH_MAX_M),
    "level_dbm": lambda cell: _cells.level(cell, is_in_a_home=True),
    "wavelength_nm": lambda cell: _cells.whole(
        cell.casefold().removesuffix("nm"), *WAVELENGTHS_NM
    ),
    "olt_port": _cells.pon_port,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One row as values. What the row leaves empty, or has a fault in, is empty or None."""

    row: int
    estate: str
    building: str
    floor: Storey | None
    flat: str
    cupboard: str
    splitter: str
    ratio: str
    leg: int | None
    cable: str
    fibre: int | None
    fibre_count: int | None
    length_m: float | None
    outlet: str
    serial: str
    reading: Level | None
    wavelength_nm: int | None
    line: str
    olt_port: PonPort | None
    note: str


def entries(sheet: Sheet, findings: Findings) -> list[Entry]:
    """Return the rows of a sheet as values, and note what is wrong with each."""
    if not sheet.rows:
        findings.fault(
            None, "", "", "There is no row below the header.", allowed="One row for each flat."
        )
    found = []
    for row in sheet.rows:
        _note_surplus(row, findings)
        entry = _entry(row, findings)
        _note_gaps(row, entry, findings)
        found.append(entry)
    return found


def _note_surplus(row: Row, findings: Findings) -> None:
    if row.surplus:
        findings.fault(
            row.number,
            "",
            ", ".join(row.surplus),
            "The row has more cells than the header.",
            allowed="One cell a column; a decimal comma needs quotation marks, or semicolons "
            "between cells.",
        )


def _entry(row: Row, findings: Findings) -> Entry:
    def texted(column: str) -> str:
        return _value(row, column, findings, lambda cell: _cells.name(cell, _LIMITS[column])) or ""

    def valued(column: str) -> Any:
        return _value(row, column, findings, _READERS[column])

    return Entry(
        row=row.number,
        estate=texted("estate"),
        building=texted("building"),
        floor=valued("floor"),
        flat=_cells.flat_name(texted("flat")),
        cupboard=texted("cupboard"),
        splitter=texted("splitter"),
        ratio=texted("ratio"),
        leg=valued("leg"),
        cable=texted("cable"),
        fibre=valued("fibre"),
        fibre_count=valued("fibre_count"),
        length_m=valued("length_m"),
        outlet=texted("outlet"),
        serial=texted("serial"),
        reading=valued("level_dbm"),
        wavelength_nm=valued("wavelength_nm"),
        line=texted("line"),
        olt_port=valued("olt_port"),
        note=texted("note"),
    )


def _value(row: Row, column: str, findings: Findings, reader: Callable[[str], V]) -> V | None:
    cell = row.cells.get(column, "")
    try:
        text = _cells.present(cell)
        value = reader(text) if text else None
    except CellError as error:
        findings.fault(row.number, column, cell, error.message, allowed=error.allowed)
        return None
    if isinstance(value, str) and value.startswith(("=", "@", "+")):
        findings.remark(row.number, column, f"'{cell}' looks like a formula; it is kept as text.")
    return value


_NEEDS = (
    ("splitter", "leg", "A splitter is named without a leg.", "The leg's number."),
    ("leg", "splitter", "A leg is given without its splitter.", "The splitter's name."),
    ("ratio", "splitter", "A ratio is given without a splitter.", "The splitter's name."),
    ("cable", "fibre", "A cable is named without a fibre.", "The fibre's number in it."),
    ("fibre", "cable", "A fibre is given without its cable.", "The cable's name."),
    ("fibre_count", "cable", "A count of fibres is given without a cable.", "The cable's name."),
    ("serial", "cable", "A home terminal has no cable to hang from.", "The cable's name."),
    ("level_dbm", "cable", "A reading is given, but no cable to read at.", "The cable's name."),
    ("wavelength_nm", "level_dbm", "A wavelength is given without a reading.", "The reading."),
    ("line", "splitter", "A line is named, but no leg for it.", "The splitter and its leg."),
    ("olt_port", "splitter", "An OLT port is named, but no splitter.", "The splitter's name."),
)


def _note_gaps(row: Row, entry: Entry, findings: Findings) -> None:
    """Note cells that need another one which is empty."""
    number, cells = row.number, row.cells
    given = {column for column, cell in cells.items() if _is_given(cell)}
    for column in ("building", "flat"):
        if column not in given:
            findings.fault(
                number, column, "", f"The {column} is empty.", allowed="A name or number."
            )
    for column, needed, message, allowed in _NEEDS:
        if column in given and needed not in given:
            findings.fault(number, needed, "", message, allowed=allowed)
    if "length_m" in given and not entry.cable:
        findings.remark(number, "length_m", "The length is not used: the row has no cable.")


def _is_given(cell: str) -> bool:
    try:
        return bool(_cells.present(cell))
    except CellError:
        return True
