"""Readings from a meter's CSV: what is understood, what is refused and where, all or nothing."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from records.changes import joints, tags
from records.intake import FaultsError, UnreadableError, meter_file
from records.models import Change, Direction, Reading
from records.queries.levels import lit_at
from tests.factories import AT, Plant, opened, user
from tests.unchanged import nothing_written

HEADER = "where,wavelength_nm,direction,level_dbm,meter,uncertainty_db,person,time"
NOW = AT + timedelta(days=30)
TAG = "7K3M9QX8"


@pytest.fixture
def plant(db):
    return Plant(
        """
        olt O
        splitter S 1:4
        cable F 900 m x4
        cable D 30 m
        cable E 30 m
        outlet U @1
        outlet V @2
        terminal T @1
        light O.1 GPON B+
        O.1 = F.1 = S
        S.1 = D ~ U - T
        S.2 = E ~ V
        """
    )


def check(*rows, header=HEADER, now=NOW, **options):
    data = rows[0] if isinstance(rows[0], bytes) else "\n".join([header, *rows]).encode()
    return meter_file.check(meter_file.read(data), actor=user(), at=now, **options)


def row(where="leg 3 of S", wavelength="1490", way="down", level="-19.5", *, time=""):
    return f'"{where}",{wavelength},{way},{level},PM-7,0.3,crew,{time}'


def told(plan):
    return [(each.row, each.column) for each in plan.faults]


def typical_dbm(plant, point):
    return lit_at([plant[point]])[0].level.typical_dbm


def test_a_row_is_shown_with_its_point_its_verdict_and_all_that_it_says(plant):
    level_dbm = typical_dbm(plant, "T") - 6
    plan = check(row("Block A, Flat 1", level=f"{level_dbm:.2f}", time="2026-03-20 08:15"))

    (only,) = plan.rows
    assert plan.is_sound
    assert only.point_name == "terminal port 1 of T (Alder Close, Block A, Flat 1)"
    assert only.judged.verdict.outcome == "low"
    assert only.judged.verdict.difference_db == pytest.approx(-6, abs=0.01)
    assert only.judged.lit.name == "GPON B+"
    reading = only.reading
    assert (reading.meter, reading.uncertainty_mdb) == ("PM-7", 300)
    assert reading.taken_at == datetime(2026, 3, 20, 8, 15, tzinfo=UTC)


def test_all_rows_are_recorded_as_one_change_with_who_held_the_meter(plant):
    anna = user("anna")
    text = "\n".join(
        [
            HEADER,
            row(),
            row("input 1 of S", level="no light"),
            row("Flat 1", way="up", wavelength="1310", level="-20"),
        ]
    ).replace("crew", "Anna")
    plan = meter_file.check(meter_file.read(text.encode()), actor=user(), at=NOW)

    change = meter_file.commit(plan, actor=user(), at=NOW, reason="evening round").change

    kept = list(Reading.objects.order_by("pk"))
    assert [each.point_id for each in kept] == [plant["S.3"], plant["S.in"], plant["T"]]
    assert [each.level_mdbm for each in kept] == [-19500, None, -20000]
    assert kept[2].direction == Direction.UP
    assert {each.taken_by for each in kept} == {anna}
    assert {each.change_id for each in kept} == {change.number}
    assert Change.objects.get(number=change.number).reason == "evening round"


def test_the_last_good_reading_stands_beside_and_a_late_file_is_marked(plant):
    level = f"{typical_dbm(plant, 'T'):.2f}"
    good = check(row("Flat 1", level=level, time="2026-03-03 08:00"))
    meter_file.commit(good, actor=user(), at=NOW)
    with opened(at=NOW) as change:
        joints.part(change, plant.joint("S.in"))
        joints.join(change, plant["F.1b"], plant["S.in"], kind="mated")

    plan = check(row("Flat 1", level="-30", time="2026-03-04 08:00"), now=NOW + timedelta(1))

    (only,) = plan.rows
    assert only.judged.last_good.taken_at == datetime(2026, 3, 3, 8, tzinfo=UTC)
    assert only.judged.is_before_change
    assert only.judged.lit.since == change.number


@pytest.mark.parametrize(
    ("where", "point"),
    [
        ("leg 3 of S", "S.3"),
        ("S leg 3", "S.3"),
        ("input 1 of S", "S.in"),
        ("PON port 1 of O", "O.1"),
        ("A end of fibre 2 of F", "F.2a"),
        ("Alder Close, Block A, Flat 1", "T"),
        ("flat 1 block a", "T"),
        ("block a flat 2", "V.1b"),
        ("T", "T"),
        ("7K3M-9QX8", "S.2"),
    ],
)
def test_a_point_is_found_by_tag_by_name_or_by_flat(plant, where, point):
    with opened() as change:
        tags.issue(change, count=1, candidates=[TAG])
        tags.bind(change, TAG, noun="point", thing=plant["S.2"])

    plan = check(row(where))

    assert told(plan) == []
    assert plan.rows[0].reading.point_id == plant[point]


@pytest.mark.parametrize(
    ("where", "message", "allowed"),
    [
        ("leg 9 of S", "Nothing in the record is called 'leg 9 of S'.", "A tag's code, a port"),
        ("nowhere", "Nothing in the record is called 'nowhere'.", "a flat's address"),
        ("S", "'S' may be several points.", "leg 1 of S"),
        ("Flat 3", "has neither a home terminal nor an outlet", "The port where the meter"),
        ("", "Where is empty.", "Where the meter was put"),
    ],
)
def test_a_point_that_is_not_clear_is_refused_with_what_it_may_be(plant, where, message, allowed):
    plant.grow("flat 3")

    (fault,) = check(row(where)).faults

    assert (fault.row, fault.column) == (2, "where")
    assert message in fault.message
    assert allowed in fault.allowed


@pytest.mark.parametrize(
    ("changed", "column", "words"),
    [
        ({"level": "+40"}, "level_dbm", "40 dBm is above what a PON carries; is a minus sign"),
        ({"level": "NaN"}, "level_dbm", "'NaN' is not a number."),
        ({"level": "inf"}, "level_dbm", "'inf' is not a number."),
        ({"level": "loud"}, "level_dbm", "'loud' is not a number."),
        ({"level": ""}, "level_dbm", "Level is empty."),
        ({"level": "-99"}, "level_dbm", "-99 dBm is below what a meter shows."),
        ({"level": "#REF!"}, "level_dbm", "#REF! is an error of the spreadsheet."),
        ({"level": '"-19,5"'}, "level_dbm", "'-19,5' has a decimal comma."),
        ({"wavelength": "850"}, "wavelength_nm", "850 nm is not known on single-mode fibre."),
        ({"wavelength": "green"}, "wavelength_nm", "'green' is no wavelength in nm."),
        ({"wavelength": ""}, "wavelength_nm", "Wavelength is empty."),
        ({"way": "sideways"}, "direction", "'sideways' is not known."),
        ({"time": "03/04/2026 10:00"}, "time", "no date and time that can be read safely"),
        ({"time": "2026-02-30 10:00"}, "time", "is on no calendar or clock"),
        ({"time": "2027-01-01 10:00"}, "time", "2027-01-01 10:00 is in the future."),
    ],
)
def test_a_wrong_value_is_refused_with_its_row_and_column(plant, changed, column, words):
    plan = check(row("leg 2 of S"), row(**changed))

    (fault,) = plan.faults
    assert (fault.row, fault.column) == (3, column)
    assert words in fault.message
    assert fault.allowed


@pytest.mark.parametrize(("cell", "words"), [("nobody", "Nobody signs in as"), ("GONE", "GONE")])
def test_a_person_is_someone_who_signs_in(plant, cell, words):
    gone = user("gone")
    gone.is_active = False
    gone.save()

    (fault,) = check(row().replace("crew", cell)).faults

    assert (fault.row, fault.column) == (2, "person")
    assert words in fault.message


def test_a_name_that_two_people_share_but_for_its_capitals_is_asked_for_as_it_is(plant):
    ann, other = user("Ann"), user("ann")

    named = check(row().replace("crew", "Ann"), row("leg 2 of S").replace("crew", "ann"))
    (fault,) = check(row().replace("crew", "ANN")).faults

    assert [each.reading.taken_by for each in named.rows] == [ann, other]
    assert (fault.column, fault.message) == ("person", "'ANN' may be one of 2 people.")
    assert fault.allowed == "One of: Ann, ann."


def test_an_uncertainty_below_zero_is_refused(plant):
    (fault,) = check(row().replace("0.3", "-0.3")).faults

    assert (fault.column, fault.message) == ("uncertainty_db", "-0.3 dB is not possible.")


def test_a_decimal_comma_between_commas_is_refused_where_it_stands(plant):
    (fault,) = check("leg 3 of S,1490,down,-19,5,PM-7,0.3,crew,2026-03-20 08:15").faults

    assert (fault.row, fault.column, fault.value) == (2, "level_dbm", "-19")
    assert "decimal comma" in fault.message


def test_decimal_commas_are_read_when_the_file_is_said_to_have_them(plant):
    text = "Where;Wavelength (nm);Power (dBm);Accuracy (dB)\nleg 3 of S;1490;-19,5;0,3\n"

    assert told(check(text.encode())) == [(2, "Power (dBm)"), (2, "Accuracy (dB)")]
    (only,) = check(text.encode(), has_decimal_commas=True).rows
    assert (only.judged.level_dbm, only.reading.uncertainty_mdb) == (-19.5, 300)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_any_usual_separator_and_encoding_is_read(plant, separator, encoding):
    lines = [
        ["Test point", "Lambda", "Way", "Measured power dBm", "Instrument", "Read by", "When"],
        [
            "leg 3 of S",
            "1490 nm",
            "Downstream",
            "-19.5 dBm",
            "Prüfer",
            "crew",
            "2026-03-20T08:15Z",
        ],
    ]
    text = "\r\n".join(separator.join(line) for line in lines)

    plan = check(text.encode(encoding))

    assert plan.is_sound
    assert plan.rows[0].reading.meter == "Prüfer"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"Where,Wavelength,Level,Tempo\n", "Row 1: the column is not known here: 'Tempo'."),
        (b"Where,Wavelength,Levl,Level\n", "'Levl'"),
        (b"Where,Wavelength,Level,Leg\n", "Rename or take out what is not one of: Where,"),
        (b"Where,Wavelength\n", "Missing columns: Level."),
        (b"Where,Wavelength,Level (mW)\n", "Column 'Level (mW)' is in mw; level is read in dBm."),
        (b"Where,Power,Level,Wavelength\n", "'Power' and 'Level' both mean level."),
        (b"leg 3:1490:-19.5\n", "No header row was found in the first 20 rows."),
        (b"", "No header row was found"),
        (b"PK\x03\x04rest", "a workbook or another zipped file, not CSV."),
        (b"\x00\x01\x02" * 99, "This file is not text."),
        (b'Where,Wavelength,Level\n"leg 3,1490,-19\n', "Row 2 can't be read"),
        (b"a,b\n" * 12_500_000, "This file is larger than 5 MB."),
    ],
    ids=lambda value: value[:20] if isinstance(value, bytes) else None,
)
def test_what_is_no_file_of_readings_is_refused_in_words(data, words):
    with pytest.raises(UnreadableError) as refused:
        meter_file.read(data)

    assert words in str(refused.value)
    assert refused.value.hint


def test_one_fault_and_nothing_is_recorded(plant):
    plan = check(row(), row("leg 2 of S", level="+40"))

    with nothing_written(), pytest.raises(FaultsError, match="Row 3, level_dbm: 40 dBm"):
        meter_file.commit(plan, actor=user(), at=NOW)


def test_what_only_the_verb_sees_is_told_by_row_and_nothing_is_recorded(plant):
    plan = check(row(), row("leg 2 of S", time="2026-03-20 08:15"))

    with (
        nothing_written(),
        pytest.raises(FaultsError, match="Row 2, time: 2026-04-01 09:30 is in the future"),
    ):
        meter_file.commit(plan, actor=user(), at=AT)


def test_the_same_file_again_adds_nothing(plant):
    text = row(time="2026-03-20 08:15")
    meter_file.commit(check(text), actor=user(), at=NOW)

    again = check(text, row("leg 2 of S", time="2026-03-20 08:16"))

    assert [each.is_there_already for each in again.rows] == [True, False]
    assert check(text).is_there_already


def test_a_file_taken_in_twice_at_once_is_recorded_once(plant):
    rows = [row(time="2026-03-20 08:15"), row("leg 2 of S", time="2026-03-20 08:16")]
    other, late, longer = check(rows[0]), check(rows[0]), check(*rows)
    meter_file.commit(other, actor=user(), at=NOW)

    with nothing_written():
        taken = meter_file.commit(late, actor=user(), at=NOW)
    rest = meter_file.commit(longer, actor=user(), at=NOW)

    assert (taken.change, taken.plan.is_there_already) == (None, True)
    assert [each.number for each in rest.plan.fresh] == [3]
    assert Reading.objects.count() == 2


def test_ports_cost_no_query_a_row(plant, django_assert_max_num_queries):
    def rows(count):
        return [
            row(f"leg {number % 4 + 1} of S", time=f"2026-03-20 08:{number:02}")
            for number in range(count)
        ]

    with CaptureQueriesContext(connection) as few:
        meter_file.commit(check(*rows(4)), actor=user(), at=NOW)
    with django_assert_max_num_queries(len(few)):
        meter_file.commit(check(*rows(60)), actor=user(), at=NOW)

    assert Reading.objects.count() == 60


def test_two_readings_of_one_moment_are_a_fault_of_the_second(plant):
    (fault,) = check(row(), row(level="-20")).faults

    assert fault.rows == (2, 3)
    assert "Row 2 has a reading of the same point" in fault.message


def test_a_header_alone_is_no_file_of_readings(plant):
    (fault,) = check(HEADER.encode()).faults

    assert fault.message == "There is no row below the header."


@given(st.binary(max_size=300))
def test_any_bytes_are_a_sheet_or_a_clear_refusal(data):
    try:
        told_by = {"where", "level_dbm"} <= meter_file.read(data).headers.keys()
    except UnreadableError as refusal:
        told_by = bool(refusal.message and refusal.hint)
    assert told_by
