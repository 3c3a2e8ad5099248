"""The columns of a sheet, and the names by which crews call them."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property

from records.queries.words import normalised


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column that is read. `means` tells a crew what belongs there; `unit` is the only one."""

    name: str
    label: str
    means: str
    also: tuple[str, ...] = ()
    is_needed: bool = False
    unit: str = ""


COLUMNS = (
    Column(
        name="estate",
        label="Estate",
        means="the estate around the building, if the file has several",
        also=("site", "development"),
    ),
    Column(
        name="building",
        label="Building",
        means="the building's name",
        also=("block", "building name", "block name", "bldg", "tower"),
        is_needed=True,
    ),
    Column(
        name="floor",
        label="Floor",
        means="the floor: G, 1, Floor 2, -1; empty where flats have no floor",
        also=("storey", "story", "floor no", "floor number"),
    ),
    Column(
        name="flat",
        label="Flat",
        means="the flat's number or name",
        also=("apartment", "apt", "dwelling", "flat no", "flat number"),
        is_needed=True,
    ),
    Column(
        name="cupboard",
        label="Cupboard",
        means="the riser cupboard in which a new splitter stands, or a cable begins; empty for "
        "the one assumed",
        also=("riser cupboard", "cupboard name"),
    ),
    Column(
        name="splitter",
        label="Splitter",
        means="the splitter's name; empty for a flat that is not connected",
        also=("splitter name", "splitter id", "splitter no"),
        is_needed=True,
    ),
    Column(
        name="ratio",
        label="Ratio",
        means="the splitter's type, such as 1:32; empty for the one assumed",
        also=("split", "split ratio", "splitter ratio", "splitter type"),
    ),
    Column(
        name="leg",
        label="Leg",
        means="the number of the splitter's leg",
        also=(
            "splitter leg",
            "leg no",
            "leg number",
            "splitter port",
            "splitter output",
            "output",
        ),
        is_needed=True,
    ),
    Column(
        name="cable",
        label="Cable",
        means="the riser or drop cable's name; empty for a flat without one",
        also=("riser cable", "drop cable", "drop", "cable name", "cable id", "cable no"),
        is_needed=True,
    ),
    Column(
        name="fibre",
        label="Fibre",
        means="the number of the fibre in the cable",
        also=("fiber", "fibre no", "fiber no", "fibre number", "fiber number", "core", "strand"),
        is_needed=True,
    ),
    Column(
        name="fibre_count",
        label="Fibres",
        means="how many fibres the cable has; empty for the highest number in the file",
        also=("fibers", "fibre count", "fiber count", "cores", "core count", "cable size"),
    ),
    Column(
        name="length_m",
        label="Length",
        means="the fibre's length in metres, slack included",
        also=("cable length", "fibre length", "fiber length", "drop length", "metres"),
        is_needed=True,
        unit="m",
    ),
    Column(
        name="serial",
        label="Terminal serial",
        means="the home terminal's serial; empty while there is none",
        also=(
            *("serial", "serial no", "serial number", "sn", "terminal"),
            *("ont", "ont serial", "ont sn", "onu", "onu serial", "onu sn"),
        ),
    ),
    Column(
        name="level_dbm",
        label="Reading",
        means="the level measured at the flat in dBm, or 'no light'",
        also=(
            *("power", "rx power", "received power", "rx", "rx level", "light level"),
            *("measured level", "level measured"),
        ),
        unit="dBm",
    ),
    Column(
        name="wavelength_nm",
        label="Wavelength",
        means="the wavelength of the reading in nm; empty for the one assumed",
        also=("lambda", "reading wavelength"),
        unit="nm",
    ),
    Column(
        name="line",
        label="Line",
        means="which of the flat's lines, where it has several",
        also=("line id", "line no", "line number"),
    ),
    Column(
        name="outlet",
        label="Outlet",
        means="the outlet's name, where it is not the one assumed",
        also=("socket", "wall outlet", "outlet name"),
    ),
    Column(
        name="olt_port",
        label="OLT port",
        means="the PON port that should feed the splitter, such as OLT1 3; only compared",
        also=("pon", "pon port", "olt pon", "olt pon port"),
    ),
    Column(
        name="note",
        label="Note",
        means="kept with the reading, or with a flat that is new",
        also=("notes", "remark", "remarks", "comment", "comments"),
    ),
)

_UNIT_SPELLINGS = {
    "m": "m",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "nm": "nm",
    "dbm": "dBm",
    "db m": "dBm",
    "db": "dB",
}
_OTHER_UNITS = frozenset({"ft", "feet", "foot", "km", "cm", "mm", "mw", "uw", "um"})
_IN_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")


@dataclass(frozen=True, slots=True)
class Header:
    """What a header cell names: a column, a unit that is not the column's, or nothing known."""

    column: Column | None
    wrong_unit: str = ""
    is_ambiguous: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguous:
    """A word that heads one column to some crews and another to others; only its unit tells."""

    column: str
    may_be: str
    hint: str


@dataclass(frozen=True, kw_only=True)
class Layout:
    """The columns of one kind of sheet, and how its header is read.

    `each_row` is what one row is. `is_strict` refuses columns that are not known; else they are
    not read. `split_by` says how to cut a sheet that is too long, `where_empty` what an empty cell
    of a needed column means.
    """

    each_row: str
    columns: tuple[Column, ...]
    ambiguous: Mapping[str, Ambiguous]
    is_strict: bool
    split_by: str
    where_empty: str

    @cached_property
    def labels(self) -> dict[str, str]:
        """Return what each column is called here."""
        return {column.name: column.label for column in self.columns}

    @cached_property
    def needed(self) -> tuple[Column, ...]:
        """Return the columns without which nothing can be read."""
        return tuple(column for column in self.columns if column.is_needed)

    @cached_property
    def _known(self) -> dict[str, Column]:
        return {
            normalised(name): column
            for column in self.columns
            for name in (column.label, column.name, *column.also)
        }

    def header_of(self, cell: str) -> Header:
        """Return what a header cell means, ignoring case, punctuation, and a unit in brackets."""
        words, unit = self._split_unit(cell)
        spelled = _UNIT_SPELLINGS.get(unit, unit)
        column = self._known.get(words)
        if words in self.ambiguous:
            column = self._known[self.ambiguous[words].column]
            return Header(column) if spelled == column.unit else Header(None, is_ambiguous=True)
        wrong = spelled if column and spelled and _is_wrong(column, spelled) else ""
        return Header(column, wrong)

    def ambiguity(self, cell: str) -> Ambiguous:
        """Return what an ambiguous header cell may be."""
        return self.ambiguous[self._split_unit(cell)[0]]

    def close_to(self, cell: str, columns: Iterable[Column]) -> Column | None:
        """Return the column that a misspelt header may mean."""
        names = {normalised(name): each for each in columns for name in (each.label, *each.also)}
        found = get_close_matches(self._split_unit(cell)[0], names, n=1, cutoff=0.8)
        return names[found[0]] if found else None

    def _split_unit(self, cell: str) -> tuple[str, str]:
        found = _IN_BRACKETS.search(cell)
        if found:
            return normalised(_IN_BRACKETS.sub(" ", cell)), normalised(found[1])
        words = normalised(cell)
        if words in self._known:
            return words, ""
        head, _, last = words.rpartition(" ")
        if head and last in _UNIT_SPELLINGS.keys() | _OTHER_UNITS:
            return head, last
        return words, ""


def _is_wrong(column: Column, unit: str) -> bool:
    is_unit = unit in _UNIT_SPELLINGS.values() or unit in _OTHER_UNITS
    return bool(column.unit) and is_unit and unit != column.unit


FLATS = Layout(
    each_row="flat",
    columns=COLUMNS,
    ambiguous={
        "level": Ambiguous(
            column="reading",
            may_be="a floor or a reading",
            hint="Call it Floor, or Reading (dBm).",
        )
    },
    is_strict=False,
    split_by="building",
    where_empty="their cells may stay empty where nothing is built",
)
