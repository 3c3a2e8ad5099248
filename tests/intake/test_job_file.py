"""A job's steps from a spreadsheet: plain names, every fault by row and column, all or nothing."""

import pytest
from django.core.management import CommandError, call_command

from records.changes import buildings, cables, equipment, jobs, places
from records.changes.refusals import Refusal
from records.intake import UnreadableError, job_file
from records.models import Change, Job, Line, Point
from tests.factories import AT, Plant, opened, user
from tests.unchanged import nothing_written

PLANT = """
    olt O x2
    splitter S 1:8
    cable F 1200 m x2
    cable D 30 m x2
    outlet U @1
    terminal T @1
    flat 2
    flat 3
    light O.1 GPON B+
    O.1 = F.1 = S
    S.3 = D ~ U - T
    """

CONNECT = """Verb;Kind;Place;Name;Leg;Line;First point;Second point;Length (m);Note
install equipment;terminal;Block A, Flat 2;T2;;;;;;
Book a leg;;;;leg 2 of S;Flat 2;;;;
patch ports;;;;;;S leg 2;terminal port 1 of T2;2,5;blue cord
"""


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def drafted(text, place=0):
    sheet = job_file.read(text.encode())
    with nothing_written():
        return job_file.drafted(sheet, place=place, actor=user(), at=AT)


def faults(text, place=0):
    found = drafted(text, place)
    assert found.steps == ()
    return [(each.row, each.column, each.message, each.allowed) for each in found.faults]


def test_a_sheet_becomes_steps_and_rows_name_what_rows_above_make(plant):
    found = drafted(CONNECT)

    assert (found.faults, found.remarks) == ((), ())
    assert [(each.verb, each.arguments) for each in found.steps] == [
        ("equipment.install", {"kind": "terminal", "place": plant.flat("2"), "name": "T2"}),
        ("bookings.book", {"leg": plant["S.2"], "line": plant.line("2")}),
        (
            "joints.patch",
            {
                "a": plant["S.2"],
                "b": {"step": 1, "port": "terminal port 1"},
                "length_m": 2.5,
            },
        ),
    ]
    assert found.steps[2].note == "blue cord"


def test_the_job_of_a_sheet_can_be_previewed_and_recorded(plant):
    steps = drafted(CONNECT).steps
    with opened() as change:
        job = jobs.draft(change, name="x", place=plant.building, steps=steps)
    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert told.clash is None
    assert [home.terminal for home in told.lit] == ["T2"]


@pytest.mark.parametrize(
    ("sheet", "arguments"),
    [
        ("Verb,Joint\npart joint,leg 3 of S", lambda p: {"joint": p.joint("S.3")}),
        (
            'Verb,Place,Name\nrename place,"Flat 3 (Block A)",Flat 3A',
            lambda p: {"place": p.flat("3"), "name": "Flat 3A"},
        ),
        (
            (
                "Verb,A,B,Kind,Loss (dB),Housed in\n"
                "splice,A end of fibre 2 of D,F fibre 2 B,fusion,0.05,U"
            ),
            lambda p: {
                "a": p["D.2a"],
                "b": p["F.2b"],
                "kind": "fusion",
                "loss_db": 0.05,
                "stands_in": p.id("U"),
            },
        ),
        ("Verb,Channel\ndarken channel,PON port 1 of O", lambda p: {"channel": p.channel("O.1")}),
        (
            "Verb,Flats,New names\nrenumber flats,Flat 2; Flat 3,Flat 22; Flat 33",
            lambda p: {
                "flats": [p.flat("2"), p.flat("3")],
                "names": ["Flat 22", "Flat 33"],
            },
        ),
        (
            (
                "Verb,Point,Level dBm,Wavelength nm,Taken at\n"
                "take reading,T port 1,\N{MINUS SIGN}18.5,1490,2026-03-02 09:30"
            ),
            lambda p: {
                "point": p["T"],
                "level_dbm": -18.5,
                "wavelength_nm": 1490,
                "taken_at": "2026-03-02T09:30:00+00:00",
            },
        ),
    ],
)
def test_things_are_known_by_their_plain_names(plant, sheet, arguments):
    found = drafted(sheet)

    assert found.faults == ()
    assert found.steps[0].arguments == arguments(plant)


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("Verb,Leg\nbook legg,x", "Row 2, Verb", ("'book legg' is no step.", "Such as: book leg")),
        ("Verb,Leg\nmeasure,x", "Row 2, Verb", ("'measure' may be several.", "measure leg")),
        ("Verb,Leg\n,leg 1 of S", "Row 2, Verb", ("The row says no step.", "Such as")),
        (
            "Verb,Leg\n\nrelease leg,leg 9 of S",
            "Row 3, Leg",
            ("No point is called 'leg 9 of S'.", "'leg 3 of S1'"),
        ),
        (
            "Verb,Leg,Line\nbook leg,leg 1 of S,",
            "Row 2, Line",
            ("'book leg' needs it.", "Fill it in."),
        ),
        (
            "Verb,Leg,Line\nrelease leg,leg 1 of S,Flat 2",
            "Row 2, Line",
            ("'release leg' takes no such thing.", "It takes: Leg."),
        ),
        (
            "Verb,Leg,Lenght\nrelease leg,leg 1 of S,3",
            "Row 2, Lenght",
            ("'Lenght' is nothing that a step takes.", "'length'"),
        ),
        (
            "Verb,Cable,Length (km)\nreroute cable,F,3",
            "Row 2, Length (km)",
            ("'Length (km)' is in km.", "metres"),
        ),
        (
            "Verb,Cable,Length (mm)\nreroute cable,F,300",
            "Row 2, Length (mm)",
            ("'Length (mm)' is in mm.", "Convert the column to metres"),
        ),
        (
            "Verb,Cable,Length\nreroute cable,F,300 mm",
            "Row 2, Length",
            ("'300 mm' is in mm.", "A number in metres"),
        ),
        (
            "Verb,Cable,Length (m)\nreroute cable,F,3 dB",
            "Row 2, Length (m)",
            ("'3 dB' is in dB.", "A number in metres"),
        ),
        ("Verb,Leg\nrelease leg,leg 1 of S,3", "Row 2", ("It stands in no named column.", "Name")),
        (
            "Verb,Cable,Length\nreroute cable,F,1,200",
            "Row 2",
            ("It stands in no named column.", "Name"),
        ),
        (
            'Verb,Cable,Length\nreroute cable,F,"1,200"',
            "Row 2, Length",
            ("'1,200' may be thousands", "without a comma"),
        ),
        (
            "Verb,Place,Kind,Name,Type\ninstall equipment,Riser,splitter,S9,1:9",
            "Row 2, Type",
            ("'1:9' is no type of the catalogue.", "One of: "),
        ),
        (
            "Verb,Joint\npart joint,step 3\npart joint,leg 3 of S",
            "Row 2, Joint",
            ("This is step 1; it can refer only to those before it.", "in the order of the work"),
        ),
        (
            "Verb,Place,Name\nrename place,Flat 2,",
            "Row 2, Name",
            ("'rename place' needs it.", "Fill it in."),
        ),
    ],
)
def test_a_fault_is_told_by_row_and_column(plant, text, where, words):
    found = faults(text)[0]
    message, allowed = words

    assert f"Row {found[0]}, {found[1]}".removesuffix(", ") == where
    assert message in found[2]
    assert allowed in found[3]


def test_a_retired_place_has_no_name(plant):
    with opened() as change:
        places.retire(change, plant.flat("3"))

    assert faults("Verb,Place,Name\nrename place,Flat 3,x\n")[0][2] == (
        "No place is called 'Flat 3'."
    )


def test_all_faults_are_told_at_once_and_a_name_may_be_what_a_faulty_row_makes(plant):
    found = faults(
        "Verb;Kind;Place;Name;Leg;Line\n"
        "install equipment;terminal;Nowhere;T2;;\n"
        "rename equipment;;;T9;;\n"
        "book leg;;;;leg 1 of S9;Flat 2\n"
    )

    assert [(each[0], each[1]) for each in found] == [
        (2, "Place"),
        (3, "Equipment"),
        (4, "Leg"),
    ]
    assert "It may be what row 2 makes, once that is put right." in found[2][3]


def test_of_several_things_of_a_name_the_one_in_the_place_of_the_job_is_meant(plant):
    with opened() as change:
        block = places.add(change, kind="building", name="Block B", parent=plant.estate).pk
        home = places.add(change, kind="flat", name="Flat 1", parent=block).pk
        terminal = equipment.install(change, kind="terminal", place=home, name="T").pk
        drop = cables.lay(change, name="D", a_place=block, b_place=home, length_m=9).pk
    rows = (
        "Verb,Place,Equipment,Cable,Line,Point,Name,Wavelength (nm),Level (dBm),Leg\n"
        "record reading,,,,,terminal port 1 of T,,1490,-17\n"
        "book leg,,,,Flat 1,,,,,leg 4 of S\n"
        "remove cable,,,D,,,,,\n"
        "rename equipment,,T,,,,T1,,\n"
        "rename place,Flat 1,,,,,Flat 1A,,\n"
    )

    assert len(faults(rows, plant.estate)) == 5
    meant = {
        name: value
        for step in drafted(rows, block).steps
        for name, value in step.arguments.items()
    }
    port, line = Point.objects.get(equipment=terminal).pk, Line.objects.get(place=home).pk
    expected = {"place": home, "equipment": terminal, "cable": drop, "line": line, "point": port}
    assert {name: meant[name] for name in expected} == expected


def test_a_name_that_several_things_have_asks_which(plant):
    plant.grow("terminal T @2")

    found = faults("Verb,Equipment,Name\nrename equipment,T,T9\n")

    assert found[0][2:] == (
        "2 things are called 'T'.",
        "Say which: T (Alder Close, Block A, Flat 1); T (Alder Close, Block A, Flat 2).",
    )
    told = drafted('Verb,Equipment,Name\nrename equipment,"T (Flat 2)",T9\n')
    assert told.steps[0].arguments["equipment"] == plant.id("T")


def test_a_row_that_would_be_refused_is_drafted_and_remarked_on(plant):
    found = drafted("Verb,Leg\nrelease leg,leg 1 of S\n")

    assert len(found.steps) == 1
    assert "It would be refused as the record is now" in found.remarks[0].message


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "names no column 'Verb'"),
        (b"Place,Name\nx,y\n", "names no column 'Verb'"),
        (b"Verb,Leg\n", "no row below"),
        (b"Verb,Leg,From leg\nbook leg,a,b\n", "mean the same"),
        (b'Verb,Leg\n"book leg,a\n', "can't be read"),
        (b"PK\x03\x04\x00", "not CSV"),
        (b"Verb,Leg\n" + b"release leg,x\n" * 1001, "at most 1000 steps"),
    ],
)
def test_what_is_no_sheet_of_steps_is_said(data, words):
    with pytest.raises(UnreadableError) as caught:
        job_file.read(data)
    assert words in str(caught.value)


# --- The command -----------------------------------------------------------------------------


@pytest.fixture
def file(tmp_path):
    def write(text):
        path = tmp_path / "steps.csv"
        path.write_text(text)
        return path

    return write


def test_the_command_drafts_a_job(plant, file, capsys):
    call_command(
        "draft_job", file(CONNECT), name="Connect", place="Block A", user="crew", reference="W-1"
    )

    job = Job.objects.get()
    assert (job.name, job.reference, len(job.steps)) == ("Connect", "W-1", 3)
    assert "Drafted job" in capsys.readouterr().out


def test_the_command_writes_nothing_of_a_faulty_sheet(plant, file, capsys):
    before = Change.objects.count()
    with pytest.raises(SystemExit):
        call_command("draft_job", file("Verb\nfly\n"), name="x", place="Block A", user="crew")

    assert "Row 2, Verb: 'fly' is no step." in capsys.readouterr().out
    assert (Job.objects.count(), Change.objects.count()) == (0, before)


def test_the_command_asks_for_a_place_that_is_there(plant, file):
    with pytest.raises(CommandError, match="No place is called 'Block Z'"):
        call_command("draft_job", file(CONNECT), name="x", place="Block Z", user="crew")
    with pytest.raises(CommandError, match="argument --due: 'soon' is no day such as"):
        call_command("draft_job", file(CONNECT), "--name=x", "--place=Block A", "--due=soon")


def test_the_command_says_before_a_long_sheet_that_others_wait(file, plant, capsys, monkeypatch):
    monkeypatch.setattr(job_file, "WAITED_FOR_MAX", 1)

    call_command("draft_job", file(CONNECT), name="x", place="Block A", user="crew")

    said = capsys.readouterr().out
    assert said.index("Others can look but not record until that is done.") < said.index("Drafted")


def test_a_sheet_is_not_drafted_for_a_building_that_is_gone(plant):
    with opened() as change:
        buildings.retire(change, plant.building)
    with pytest.raises(Refusal, match="retired"), opened() as change:
        jobs.draft(change, name="x", place=plant.building, steps=[])
