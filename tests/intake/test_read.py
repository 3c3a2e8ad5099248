"""Bytes become a sheet, or a clear refusal; nothing else."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records import intake
from records.handover.exports.tables import guarded
from records.intake import UnreadableError

HEADERS = ["Building", "Floor", "Flat", "Splitter", "Leg", "Cable", "Fibre", "Length"]
CELLS = ["Block D", "G", "1", "S-D1", "1", "RD-01", "1", "12.5"]


def _file(rows, separator=",", encoding="utf-8", end="\n"):
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator=end).writerows(rows)
    return text.getvalue().encode(encoding)


def _refusal(data):
    with pytest.raises(UnreadableError) as caught:
        intake.read(data)
    assert caught.value.hint
    return str(caught.value)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_each_separator_and_line_end_is_read_alike(separator, end):
    read = intake.read(_file([HEADERS, CELLS], separator, end=end))

    assert [row.cells["cable"] for row in read.rows] == ["RD-01"]
    assert read.separator == separator


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
def test_each_encoding_that_spreadsheet_programs_write_is_read(encoding):
    cells = [*CELLS]
    cells[0] = "Blök Ä"

    read = intake.read(_file([HEADERS, cells], encoding=encoding))

    assert read.rows[0].cells["building"] == "Blök Ä"


def test_a_guess_at_the_encoding_is_told():
    read = intake.read(_file([HEADERS, ["Blök", *CELLS[1:]]], encoding="cp1252"))

    assert "Windows-1252" in read.remarks[0].message


def test_rows_keep_the_numbers_that_a_spreadsheet_program_shows():
    read = intake.read(_file([["As built"], [], HEADERS, [], CELLS, ["", " ", ""], CELLS]))

    assert read.header_row == 3
    assert [row.number for row in read.rows] == [5, 7]
    assert "row 1" in read.remarks[0].message


def test_a_cell_of_two_lines_is_one_row():
    read = intake.read(_file([HEADERS, ["Block\nD", *CELLS[1:]], CELLS]))

    assert [(row.number, row.cells["building"]) for row in read.rows] == [
        (2, "Block D"),
        (3, "Block D"),
    ]


def test_a_separator_named_in_the_first_line_is_taken():
    read = intake.read(b"sep=;\r\n" + _file([HEADERS, CELLS], ";"))

    assert read.rows[0].number == 2


@pytest.mark.parametrize(
    ("header", "name"),
    [
        ("BLOCK", "building"),
        ("  Flat_No. ", "flat"),
        ("Length (m)", "length_m"),
        ("length_m", "length_m"),
        ("Cable length [metres]", "length_m"),
        ("Rx power (dBm)", "level_dbm"),
        ("Level (dBm)", "level_dbm"),
        ("reading dBm", "level_dbm"),
        ("Fiber no.", "fibre"),
        ("Core", "fibre"),
        ("Cores", "fibre_count"),
        ("ONT serial", "serial"),
        ("PON port", "olt_port"),
        ("Wavelength (nm)", "wavelength_nm"),
    ],
)
def test_headers_are_known_by_the_names_crews_use(header, name):
    rest = [each for each in HEADERS if each.casefold() != _own(name)]

    read = intake.read(_file([[header, *rest], CELLS]))

    assert read.headers[name] == " ".join(header.split())


def _own(name):
    return next(each.label for each in intake.COLUMNS if each.name == name).casefold()


def test_every_name_of_every_column_is_its_own():
    names = [
        name.casefold() for each in intake.COLUMNS for name in (each.label, each.name, *each.also)
    ]

    assert {name for name in names if names.count(name) > 1} <= {
        each.name for each in intake.COLUMNS
    }


def test_an_unknown_column_is_named_and_a_misspelt_one_guessed():
    read = intake.read(_file([[*HEADERS, "Door", "Reeding"], [*CELLS, "green", "-18"]]))

    assert [(told.column, told.message) for told in read.remarks] == [
        ("Door", "Not a known column, not read."),
        ("Reeding", "Not a known column, not read. Does it mean Reading?"),
    ]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([HEADERS[2:], CELLS[2:]], "Missing columns: Building."),
        ([["Bilding", *HEADERS[1:]], CELLS], "Not known: Bilding."),
        ([[*HEADERS, "Block"], CELLS], "'Building' and 'Block' both mean building"),
        ([[*HEADERS, "Level"], CELLS], "'Level' may be a floor or a reading"),
        ([[*HEADERS[:-1], "Length (ft)"], CELLS], "is in ft; length is read in m"),
        ([["a", "b"], ["c", "d"]], "No header row was found"),
        ([], "No header row was found"),
        ([HEADERS + [""] * 100, CELLS], "has 108 columns"),
    ],
)
def test_a_header_that_can_not_be_read_is_refused_by_name(rows, words):
    assert words in _refusal(_file(rows))


@pytest.mark.parametrize(
    ("start", "words"),
    [
        (b"PK\x03\x04" + b"x" * 50, "a workbook or another zipped file"),
        (b"\xd0\xcf\x11\xe0" + b"\x00" * 50, "a workbook of the old binary kind"),
        (b"%PDF-1.7", "a PDF"),
        (b"\x00" * 100, "not text"),
        (bytes(range(256)) * 20, "not text"),
        (_file([HEADERS, CELLS]) + b"\x07", "Line 3 has a control character"),
        (b"\xef\xbb\xbf" + b"Flat,\xff\xff", "not text in utf-8"),
        (b"\x81\x8d\x8f\x90\x9d", "not text in utf-8 or cp1252"),
    ],
)
def test_what_is_no_text_is_refused_with_what_it_seems_to_be(start, words):
    assert words in _refusal(start)


def test_a_quotation_mark_left_open_is_refused_with_its_row():
    assert "Row 3 can't be read" in _refusal(_file([HEADERS, CELLS]) + b'"Block D,1\n' * 3)


def test_too_many_rows_and_too_many_bytes_are_refused():
    rows = _file([HEADERS]) + b"D,G,1,S,1,C,1,1\n" * (intake.MAX_ROWS + 1)

    assert f"more than {intake.MAX_ROWS} rows" in _refusal(rows)
    assert "larger than 5 MB" in _refusal(b"a" * (intake.MAX_BYTES + 1))


class _Endless(io.BytesIO):
    """A file that never ends, and counts what is read of it."""

    def __init__(self, pattern):
        super().__init__()
        self.pattern = pattern
        self.read_bytes = 0

    def read(self, size=-1):
        assert size > 0
        self.read_bytes += size
        return (self.pattern * (size // len(self.pattern) + 1))[:size]


@pytest.mark.parametrize(("pattern", "limit"), [(b"\x00\xff\x10", 100_000), (b"a,b\n", 5_000_001)])
def test_a_huge_file_is_refused_without_being_read_to_its_end(pattern, limit):
    file = _Endless(pattern)

    with pytest.raises(UnreadableError):
        intake.load(file)

    assert file.read_bytes <= limit


@given(st.binary(max_size=300))
def test_any_bytes_are_a_sheet_or_a_clear_refusal(data):
    _read_or_refused(data)


@given(st.text(max_size=200), st.sampled_from(["utf-8", "utf-16", "cp1252"]))
def test_any_text_under_a_header_is_a_sheet_or_a_clear_refusal(text, encoding):
    _read_or_refused((",".join(HEADERS) + "\n" + text).encode(encoding, errors="ignore"))


def _read_or_refused(data):
    try:
        told = {"building", "flat"} <= intake.read(data).headers.keys()
    except UnreadableError as refusal:
        told = bool(refusal.message and refusal.hint)
    assert told


CELL = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8)


@given(st.lists(st.lists(CELL, min_size=8, max_size=8), max_size=5), st.sampled_from(",;\t|"))
def test_what_is_written_is_read_back(rows, separator):
    written = [[guarded(cell) for cell in row] for row in rows]

    read = intake.read(_file([HEADERS, *written], separator))

    assert [list(row.cells.values()) for row in read.rows] == rows


@pytest.mark.parametrize("cell", ["'t Hof", "O'Neill", "=1", "-3", "12'"])
def test_an_apostrophe_that_guards_nothing_stays(cell):
    read = intake.read(_file([HEADERS, [cell] * len(HEADERS)], ";"))

    assert set(read.rows[0].cells.values()) == {cell}
