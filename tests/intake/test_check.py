"""Each fault is named with its row, its column, its value and what is allowed."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.changes import cables, equipment, places
from records.intake import Assumptions, Kind
from records.models import Cable
from tests.factories import Plant, entry, opened
from tests.intake.sheets import COLUMNS, checked, rehearsed, row, said, taken_in
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S 1:8
    cable F 1200 m x2
    light O.1 GPON B+
    O.1 = F = S
    flat 1
"""


@pytest.fixture
def plant():
    return Plant(PLANT)


def test_a_sound_sheet_has_no_fault_and_lists_what_is_new_and_what_is_there(plant):
    plan = checked(row(1), row(2))

    assert said(plan) == []
    counts = {count.kind: (count.new, count.there) for count in plan.counts}
    assert counts[Kind.ESTATE] == counts[Kind.BUILDING] == counts[Kind.SPLITTER] == (0, 1)
    assert counts[Kind.FLAT] == (1, 1)
    assert counts[Kind.FLOOR] == (1, 0)
    assert counts[Kind.CABLE] == counts[Kind.BOOKING] == counts[Kind.LEG_JOINT] == (2, 0)
    assert counts[Kind.READING] == (2, 0)
    assert Kind.CUPBOARD not in counts


def test_a_check_writes_nothing(plant):
    with nothing_written():
        checked(row(1), row(2, building="Block Z", splitter="New"))


@pytest.mark.parametrize(
    ("changed", "column", "words"),
    [
        ({"building": ""}, "building", "The building is empty. A name or number."),
        ({"flat": ""}, "flat", "The flat is empty."),
        ({"leg": ""}, "leg", "A splitter is named without a leg."),
        ({"splitter": ""}, "splitter", "A leg is given without its splitter."),
        ({"fibre": ""}, "fibre", "A cable is named without a fibre."),
        ({"cable": ""}, "cable", "A home terminal has no cable to hang from."),
        ({"cable": "", "serial": "", "fibre": ""}, "cable", "no cable to read at"),
        ({"leg": "9"}, "leg", "S has no leg 9. From 1 to 8."),
        ({"leg": "129"}, "leg", "129 is out of range. A whole number from 1 to 128."),
        ({"leg": "x"}, "leg", "'x' is not a whole number."),
        ({"fibre": "0"}, "fibre", "0 is out of range."),
        ({"length": ""}, "length", "D2 is new and has no length."),
        ({"length": "0"}, "length", "0 m is not possible. Metres, above 0 and at most"),
        ({"length": "1,200"}, "length", "thousands of metres or thousandths"),
        ({"reading": "18"}, "reading", "is a minus sign missing?"),
        ({"reading": "#N/A"}, "reading", "is an error of the spreadsheet."),
        ({"floor": "400"}, "floor", "No building has a floor 400. From -20 to 200."),
        ({"cable": "x" * 61}, "cable", "The name has 61 characters. At most 60"),
    ],
)
def test_a_row_at_fault_by_itself_is_named(plant, changed, column, words):
    plan = checked(row(1), row(2, **changed))

    fault = next(each for each in plan.faults if words in str(each))
    assert (fault.row, fault.column, fault.rows) == (3, column, (3,))
    assert fault.value == changed.get(column, "")
    assert fault.allowed


@pytest.mark.parametrize(
    ("changed", "column", "words"),
    [
        ({"flat": "flat 01"}, "flat", "Flat 1 is in rows 2 and 3."),
        ({"leg": 1}, "leg", "Leg 1 of S is in rows 2 and 3."),
        ({"cable": "D1"}, "fibre", "Fibre 1 of D1 is in rows 2 and 3."),
        ({"serial": "tx0001"}, "serial", "Serial TX0001 is in rows 2 and 3."),
    ],
)
def test_what_two_rows_can_not_both_have_is_shown_once_with_both(plant, changed, column, words):
    plan = checked(row(1), row(2, **changed))

    (twice,) = (fault for fault in plan.faults if fault.message == words)
    assert (twice.column, twice.rows, twice.rows_said) == (column, (2, 3), "2 and 3")
    assert str(twice).startswith(f"Rows 2 and 3, {column}: ")


def test_equal_numbers_in_two_buildings_do_not_clash(plant):
    plan = checked(row(1), row(1, building="Block B", serial="TX9"))

    assert said(plan) == []


def test_the_riser_of_the_basement_is_another_than_that_of_the_floor_above(plant):
    names = ("R 1", "r-1", "R -1", "R \u22121")
    rows = [row(n, cable=name, fibre=n, fibres=4) for n, name in enumerate(names, start=1)]

    plan = checked(*rows, more="fibres")

    assert said(plan) == []
    assert len(plan.cables) == 2


@pytest.mark.parametrize(
    ("recorded", "changed", "words"),
    [
        ("flat 5\nbook S.2 for 5", {}, "Leg 2 of S is held for line L"),
        ("bar S.2 broken tail", {}, "Leg 2 of S is barred: broken tail. A spare leg: 1, 3, 4"),
        ("flat 2\nbook S.7 for 2", {}, "Flat 2 already has leg 7 of S for line L"),
        ("splitter Z 1:4\nS.2 - Z", {}, "Leg 2 of S feeds another splitter."),
        ("cable C 9 m\nS.2 = C", {}, "Leg 2 of S is joined to A end of fibre 1 of C."),
        ("terminal T @2", {}, "Flat 2 already has a home terminal: one without a serial."),
        ("outlet Outlet @2\ncable C 9 m\nC ~ Outlet", {}, "The back of Outlet is joined to B end"),
        ("cable D2 9 m", {"fibre": 2}, "D2 has no fibre 2. From 1 to 1."),
        ("", {"ratio": "1:16"}, "S is a 1:8 in the record. 1:8, or empty."),
        ("", {"ratio": "1:33", "splitter": "N"}, "The catalogue has no splitter '1:33'. One of:"),
        ("", {"line": "L000099"}, "Flat 2 has no line L000099. Empty: a new flat gets its own"),
        ("", {"fibres": 1, "fibre": 2}, "D2 has no fibre 2. From 1 to 1."),
        ("", {"olt port": "O 2"}, "S is fed by PON port 1 of O in the record."),
    ],
)
def test_what_the_record_does_not_allow_is_named(plant, recorded, changed, words):
    plant.grow(recorded)

    more = " | ".join(n for n in changed if n in {"ratio", "line", "fibres", "olt port"})
    plan = checked(row(2, **changed), more=more)

    assert [text for text in said(plan) if words in text], said(plan)
    assert {fault.row for fault in plan.faults} == {2}


def test_a_serial_of_another_flat_is_named_with_its_place(plant):
    taken_in(row(1))

    plan = checked(row(2, serial="tx0001"))

    assert "tx0001 is the serial of Terminal (Alder Close, Block A, Flat 1)" in said(plan)[0]
    assert plan.faults[0].column == "serial"


def test_a_damaged_fibre_and_a_cable_that_leads_elsewhere_are_named(plant):
    taken_in(row(1, serial="", reading="", leg="", splitter=""), row(3))
    with opened() as change:
        cables.damage(change, Cable.objects.get(name="D1").pk, fibre=1, why="crushed")

    plan = checked(row(1), row(4, cable="D3"))

    assert "Fibre 1 of D1 is damaged: crushed." in said(plan)[0]
    assert "D3 leads to Flat 3 in the record." in "\n".join(said(plan))


def test_one_splitter_can_not_have_two_ratios(plant):
    plan = checked(
        row(1, splitter="N", ratio="1:16"), row(2, splitter="N", ratio="1:32"), more="ratio"
    )

    assert "Row 2 has N as a 1:16." in said(plan)[0]
    assert plan.faults[0].rows == (2, 3)


def test_a_splitter_that_two_cupboards_have_is_ambiguous(plant):
    with opened() as change:
        cupboard = places.add(
            change, kind="riser cupboard", name="Upper", parent=plant.building
        ).pk
        of_type = entry("splitter", "1:8")
        equipment.install(change, kind="splitter", place=cupboard, name="S", entry=of_type)

    assert "There are 2 splitters S: in Riser, Upper." in said(checked(row(1)))[0]


def test_a_sheet_without_an_estate_needs_one_named_where_there_are_several(plant):
    with opened() as change:
        places.add(change, kind="estate", name="Birch Close")

    (fault,) = checked(row(1), row(2), estate="").faults

    assert (fault.row, fault.column, fault.rows_said) == (None, "Estate", "")
    assert fault.allowed == "An estate's name, new or one of: Alder Close, Birch Close."


def test_the_only_estate_is_meant_where_none_is_named(plant):
    assert said(checked(row(1), estate="")) == []


@pytest.mark.parametrize(
    ("assumed", "words"),
    [
        ({"splitter": "1:33"}, "The catalogue has no splitter '1:33'. One of: 1:2"),
        ({"fibre": "copper"}, "The catalogue has no fibre 'copper'."),
        ({"splice": "glue"}, "The catalogue has no fusion or mechanical 'glue'."),
        ({"mated": "tape"}, "The catalogue has no mated 'tape'."),
        ({"colour_scheme": "plaid"}, "The catalogue has no colours 'plaid'. Empty, or one of"),
        ({"terminal_class": "GPON Z"}, "The catalogue has no class 'GPON Z'."),
        ({"splitter_polish": "flat"}, "'flat' is no connector."),
        ({"outlet": " "}, "The name is empty."),
        ({"cord_length_m": 0}, "A cord of 0 m is not possible."),
        ({"wavelength_nm": 850}, "850 nm is no wavelength of single-mode fibre."),
    ],
)
def test_an_assumption_that_can_not_be_met_is_a_fault_of_the_sheet(plant, assumed, words):
    plan = checked(row(1), assumptions=Assumptions(**assumed))

    assert words in said(plan)[0]
    assert plan.faults[0].row is None
    assert plan.faults[0].column.startswith("assumed ")


def test_a_sheet_without_rows_says_so(plant):
    assert "There is no row below the header." in said(checked())[0]


def test_a_row_with_more_cells_than_the_header_is_named(plant):
    plan = checked(row(1) + " | 5")

    assert "more cells than the header" in said(plan)[0]
    assert plan.faults[0].value == "5"


def test_all_faults_of_a_sheet_come_at_once_from_the_top_down(plant):
    plan = checked(row(3, leg=9), row(1, reading=3), row(2, leg=9, length="x"))

    assert [fault.row for fault in plan.faults] == [2, 2, 3, 4, 4]


@pytest.mark.parametrize(
    ("changed", "more", "words"),
    [
        ({"cable": "=A1"}, "", "looks like a formula"),
        ({"cable": "", "fibre": "", "serial": "", "reading": ""}, "", "length is not used"),
        ({"splitter": "N", "olt port": "O 1"}, "olt port", "N is fed by nothing"),
    ],
)
def test_what_stops_nothing_is_remarked(plant, changed, more, words):
    plan = checked(row(1, **changed), more=more)

    assert plan.is_sound, said(plan)
    assert words in "\n".join(map(str, plan.remarks))


def test_a_length_that_differs_from_the_record_is_remarked_and_left(plant):
    taken_in(row(1))

    plan = checked(row(1, length=50))

    assert plan.is_there_already
    assert "The record has 21 m for this fibre" in str(plan.remarks[0])


def test_queries_do_not_grow_with_the_rows(plant):
    def queries(count):
        rows = [row(n, splitter=f"S{n // 8}", leg=n % 8 + 1) for n in range(1, count + 1)]
        with CaptureQueriesContext(connection) as caught:
            assert checked(*rows).is_sound
        return len(caught)

    assert queries(300) == queries(3)


ODD = st.sampled_from(
    [
        "",
        "1",
        "2",
        "9",
        "S",
        "D1",
        "-",
        "x",
        "G",
        "-18",
        "no light",
        "#N/A",
        "=A1",
        "1:8",
        "é",
        "0",
    ]
)


COLUMN = st.sampled_from(COLUMNS)


# The plant is only read: what a rehearsal builds is gone before the next example.
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.tuples(st.integers(1, 4), st.dictionaries(COLUMN, ODD, max_size=2)), max_size=4)
)
def test_any_cells_give_a_plan_and_a_sound_plan_can_be_rehearsed(plant, rows):
    with nothing_written():
        plan = checked(*(row(number, **cells) for number, cells in rows))
        if plan.is_sound:
            assert all(fault.row and fault.allowed for fault in rehearsed(plan))


def test_a_new_splitter_that_nothing_feeds_says_how_many_homes_will_be_dark(plant):
    rows = [row(n, building="Block D", splitter="S-D1") for n in (1, 2, 3)]

    (told,) = checked(*rows).remarks

    assert (told.row, told.column) == (2, "splitter")
    assert told.message == (
        "S-D1 is fed by nothing: 3 homes will be dark. Join its input to a PON port, a fibre that "
        "brings light, or a leg of another splitter."
    )
    assert checked(row(1), row(2)).remarks == ()


def test_the_port_that_a_sheet_names_is_where_to_join_the_splitter(plant):
    (told,) = checked(row(1, splitter="N", **{"olt port": "O 2"}), more="olt port").remarks

    assert told.message == (
        "N is fed by nothing: 1 home will be dark. Join its input to PON port 2 of O."
    )


def test_a_splitter_joined_to_what_has_no_light_is_told_apart(plant):
    plant.grow("splitter Z 1:4\ncable G 90 m\nG = Z")

    (told,) = checked(row(1, splitter="Z")).remarks

    assert "Z gets no light from what it is joined to: 1 home will be dark" in told.message


def test_a_new_splitter_of_a_name_that_stands_elsewhere_says_where(plant):
    rows = [row(n, building="Block E") for n in (1, 2)]

    named, _unfed = checked(*rows).remarks

    assert named.message == (
        "S already stands in Alder Close, Block A, Riser; this makes another one of the name in "
        "Block E."
    )


def test_rows_without_an_estate_are_named_together(plant):
    with opened() as change:
        places.add(change, kind="estate", name="Elm Row")
    rows = [row(1), row(2), row(3, estate="Alder Close")]

    (fault,) = checked(*rows, more="estate", estate="").faults

    assert (fault.rows_said, fault.message) == (
        "2 and 3",
        "No estate is named here, and none for the whole sheet.",
    )


def test_a_long_cell_is_cut_where_it_is_shown(plant):
    (fault,) = checked(row(1, length="x" * 300)).faults

    assert fault.value == "x" * 300
    assert fault.value_shown == "x" * 39 + "\N{HORIZONTAL ELLIPSIS}"
    assert len(str(fault)) < 150
