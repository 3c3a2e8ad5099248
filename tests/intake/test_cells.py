"""One cell becomes a value in one sense only."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.intake import _cells
from records.intake._cells import CellError, Level, PonPort, Storey


@pytest.mark.parametrize(
    ("cell", "number"), [("7", 7), ("07", 7), ("7.0", 7), ("Leg 7", 7), ("#7", 7), ("P7", 7)]
)
def test_a_counting_number_may_carry_its_noun(cell, number):
    assert _cells.whole(cell, 1, 32) == number


@pytest.mark.parametrize("cell", ["0", "33", "7.5", "-1", "seven", "1-2", "7 or 8", "=A1"])
def test_what_is_no_counting_number_in_range_is_refused_with_the_range(cell):
    with pytest.raises(CellError) as caught:
        _cells.whole(cell, 1, 32)

    assert caught.value.allowed == "A whole number from 1 to 32."


@pytest.mark.parametrize(
    ("cell", "length_m"),
    [("35", 35), ("12.5", 12.5), ("12,5", 12.5), ("12.5 m", 12.5), ("12,50m", 12.5), ("0.5", 0.5)],
)
def test_a_length_may_have_a_decimal_comma_and_its_unit(cell, length_m):
    assert _cells.length(cell, 1000) == length_m


@pytest.mark.parametrize("cell", ["0", "-3", "1e9", "1001", "12 ft", "1.200,5", "inf", "nan", ""])
def test_an_impossible_length_is_refused(cell):
    with pytest.raises(CellError):
        _cells.length(cell, 1000)


@pytest.mark.parametrize("cell", ["1,200", "1.200", "12,000 m"])
def test_a_thousands_mark_that_may_be_a_decimal_one_is_refused(cell):
    with pytest.raises(CellError, match="thousands"):
        _cells.length(cell, 100_000)


@pytest.mark.parametrize(
    ("cell", "level_dbm"),
    [
        ("-18.2", -18.2),
        ("-18,2", -18.2),
        ("-18.2 dBm", -18.2),
        ("\u221218.2", -18.2),
        ("- 18.2", -18.2),
        ("-18", -18),
        ("no light", None),
        ("LOS", None),
    ],
)
def test_a_level_may_be_written_in_many_ways(cell, level_dbm):
    assert _cells.level(cell, is_in_a_home=True) == Level(level_dbm)


@pytest.mark.parametrize(
    ("cell", "words"),
    [("18.2", "is a minus sign missing"), ("-71", "below what a meter shows"), ("good", "number")],
)
def test_a_level_that_no_home_can_have_is_refused(cell, words):
    with pytest.raises(CellError, match=words):
        _cells.level(cell, is_in_a_home=True)


@given(st.integers(-700, 0), st.sampled_from(".,"), st.sampled_from(["", " dBm", "dBm"]))
def test_a_level_is_read_as_it_was_written(tenths, mark, unit):
    written = f"{tenths / 10:.1f}".replace(".", mark) + unit

    assert _cells.level(written, is_in_a_home=True) == Level(tenths / 10)


@pytest.mark.parametrize(
    ("cell", "storey"),
    [
        ("G", Storey("Ground floor", 0)),
        ("0", Storey("Ground floor", 0)),
        ("ground floor", Storey("Ground floor", 0)),
        ("2", Storey("Floor 2", 2)),
        ("02", Storey("Floor 2", 2)),
        ("2nd floor", Storey("Floor 2", 2)),
        ("Floor 2", Storey("Floor 2", 2)),
        ("B1", Storey("Basement 1", -1)),
        ("-1", Storey("Basement 1", -1)),
        ("Mezzanine", Storey("Mezzanine", None)),
    ],
)
def test_a_floor_is_known_by_its_number(cell, storey):
    assert _cells.storey(cell) == storey


def test_a_floor_that_no_building_has_is_refused():
    with pytest.raises(CellError, match="No building has a floor 201"):
        _cells.storey("201")


@pytest.mark.parametrize(
    ("cell", "name"),
    [("12", "Flat 12"), ("12a", "Flat 12a"), ("B3", "Flat B3"), ("Attic", "Attic")],
)
def test_a_bare_number_gets_its_noun(cell, name):
    assert _cells.flat_name(cell) == name


@pytest.mark.parametrize(
    ("cell", "port"),
    [
        ("OLT1 3", PonPort("OLT1", 3)),
        ("OLT1/3", PonPort("OLT1", 3)),
        ("OLT1 PON 3", PonPort("OLT1", 3)),
        ("olt-1: port 3", PonPort("olt-1", 3)),
        ("PON3", PonPort("", 3)),
        ("3", PonPort("", 3)),
    ],
)
def test_a_pon_port_may_leave_its_olt_out(cell, port):
    assert _cells.pon_port(cell) == port


@pytest.mark.parametrize("cell", ["OLT1", "three", "-"])
def test_what_names_no_port_is_refused(cell):
    with pytest.raises(CellError, match="names no PON port"):
        _cells.pon_port(cell)


@pytest.mark.parametrize("cell", ["#REF!", "#N/A", "#DIV/0!"])
def test_an_error_of_the_spreadsheet_is_no_value(cell):
    with pytest.raises(CellError, match="error of the spreadsheet"):
        _cells.present(cell)


READERS = (
    _cells.storey,
    _cells.pon_port,
    lambda text: _cells.whole(text, 1, 32),
    lambda text: _cells.length(text, 1000),
    lambda text: _cells.level(text, is_in_a_home=True),
)


@given(st.text(max_size=12), st.sampled_from(READERS))
def test_any_cell_is_a_value_or_a_refusal_with_what_is_allowed(cell, reader):
    try:
        told = reader(cell) is not None
    except CellError as refusal:
        told = bool(refusal.allowed)
    assert told
