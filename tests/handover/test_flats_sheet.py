"""A building's sheet, taken in elsewhere, builds the same plant; what it can't say is named."""

from itertools import count

import pytest
from django.conf import settings as django_settings
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from records import intake
from records.changes import channels, equipment, joints, places
from records.handover.exports import files
from records.handover.exports.flats_sheet import COLUMNS
from records.handover.exports.tables import Table, csv_of
from records.intake import Assumptions
from records.models import Equipment, Place, Point, Role
from tests.factories import AT, opened, optical_class, user
from tests.handover.plants_described import Described

NO_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)
"""Each example takes a second, and a sheet says by itself what is wrong."""

DEMO = django_settings.BASE_DIR / "fixtures" / "demo"
NUMBERS = count(1)
NASTY = ["=1+1", "-12", "@home", "+4", "'t Hof", "''", 'say "a, b; c"', "Ü 9", "n/a 1", "D\u20131"]
FLATS = ["Flat 1", "Flat 02", "7B Mews", "Loft", *NASTY[:8]]
SPLITTERS = [("Riser", "S1", "1:8"), ("Riser", "=S2", "1:4"), ("Riser 2", "S1", "1:8")]
RISERS = {"": "R", "G": "R G", "1": "R 1", "-1": "R B1"}
"""Shared cables by floor: names that are told apart without their marks, as taking in does."""
HEADERS = "building,floor,flat,cupboard,splitter,ratio,leg,cable,fibre,fibres,length (m),outlet,"
HEADERS += "terminal serial,reading (dBm),wavelength (nm),note"

homes = st.fixed_dictionaries(
    {
        "floor": st.sampled_from(["", "G", "1", "-1"]),
        "wired": st.sampled_from(["not", "booked", "cable", "outlet", "terminal", "terminal"]),
        "splitter": st.sampled_from(SPLITTERS),
        "cable": st.sampled_from(["own", "own", "shared"]),
        "length_cm": st.integers(50, 9_000),
        "outlet": st.sampled_from(["", "Outlet 2", "@wall"]),
        "level": st.sampled_from(["", "", "no light", "-18.25", "-19"]),
        "note": st.sampled_from(["", "behind the sofa", "=note"]),
    }
)

HOME = {
    "floor": "G",
    "wired": "terminal",
    "splitter": SPLITTERS[0],
    "cable": "shared",
    "length_cm": 900,
    "outlet": "",
    "level": "",
    "note": "",
}
"""A home on the riser cable of its floor."""


def rows_of(told, serials):
    """Return the rows of a crew's sheet that say what hypothesis has drawn."""
    legs, fibres = {}, {}
    for flat, home in zip(FLATS, told, strict=False):
        cupboard, splitter, ratio = home["splitter"]
        is_booked = home["wired"] in {"booked", "outlet", "terminal"}
        has_cable = home["wired"] in {"cable", "outlet", "terminal"}
        leg = legs[home["splitter"]] = legs.get(home["splitter"], 0) + is_booked
        is_booked = is_booked and leg <= int(ratio[2:])
        name = RISERS[home["floor"]] if home["cable"] == "shared" else f"D{flat}"
        fibre = fibres[cupboard, name] = fibres.get((cupboard, name), 0) + has_cable
        yield (
            *("Block A", home["floor"], flat, cupboard if has_cable or is_booked else ""),
            *((splitter, ratio, leg) if is_booked else ("", "", "")),
            *((name, fibre, 12, home["length_cm"] / 100) if has_cable else ("", "", "", "")),
            home["outlet"] if has_cable else "",
            f"{serials}{flat}" if home["wired"] == "terminal" else "",
            *((home["level"], "1490" if home["level"] else "") if has_cable else ("", "")),
            home["note"],
        )


def quoted(cell):
    return '"' + str(cell).replace('"', '""') + '"'


def taken_in(text, estate, **assumed):
    """Take a sheet in."""
    plan = intake.check(
        intake.read(text.encode()), estate=estate, assumptions=Assumptions(**assumed)
    )
    assert [str(fault) for fault in plan.faults] == []
    intake.commit(plan, actor=user(), at=AT)
    around = Place.objects.get(name=estate)
    return Place.objects.get(kind="building", path__startswith=around.path)


def fed(building, cord_m=3):
    """Light all splitters of a building, each from a PON port of its own."""
    splitters = Equipment.objects.filter(kind="splitter", place__path__startswith=building.path)
    estate = Place.objects.get_ancestors(building)[0]
    with opened() as change:
        hut = places.add(change, kind="head-end", name="Hut", parent=estate.pk)
        olt = equipment.install(change, kind="olt", place=hut.pk, name="OLT 1", ports=8)
        for number, each in enumerate(splitters.order_by("place__name", "name"), start=1):
            port = Point.objects.get(equipment=olt, number=number).pk
            channels.light(change, port, optical_class=optical_class("GPON B+"))
            end = Point.objects.get(equipment=each, role=Role.INPUT, number=1).pk
            joints.patch(change, port, end, length_m=cord_m)


def exported(building, *, has_addresses=True):
    return files.export(building, "sheet", has_addresses=has_addresses)


def moved(document, estate, *, prefix=""):
    """Return a sheet as text, for another estate and with other serials."""
    at, serial = COLUMNS.index("Estate"), COLUMNS.index("Terminal serial")
    rows = []
    for row in document.table.rows:
        cells = [estate if place == at else cell for place, cell in enumerate(row)]
        cells[serial] = f"{prefix}{cells[serial]}" if cells[serial] else ""
        rows.append(tuple(cells))
    return "".join(csv_of(Table(columns=COLUMNS, rows=tuple(rows))))


@pytest.mark.django_db
@example(told=[HOME | {"floor": floor} for floor in ("1", "-1")])
@given(told=st.lists(homes, min_size=1, max_size=7))
@settings(max_examples=12, phases=NO_SHRINKING, suppress_health_check=list(HealthCheck))
def test_what_a_sheet_can_say_comes_back_the_same_down_to_the_light(told):
    number = next(NUMBERS)
    rows = [",".join(map(quoted, row)) for row in rows_of(told, f"X{number}-")]
    source = taken_in("\n".join([HEADERS, *rows]), f"Estate {number}")
    fed(source)

    document = exported(source)
    text = moved(document, f"Copy {number}", prefix="C")
    copy = taken_in(text, f"Copy {number}", **document.assumed)
    fed(copy)

    seen, again = Described(source), Described(copy, serial_prefix="C")
    assert again.everything() == seen.everything()
    assert _told_of_plant(document) == []


def _told_of_plant(document):
    """Return what is left out, but for the feeder, which stands outside, and notes."""
    feeder = {"cables and patch cords", "joints", "notes on homes"}
    return [each for each in document.left_out if each.what not in feeder]


@pytest.mark.django_db
@given(told=st.lists(homes, min_size=1, max_size=7))
@settings(max_examples=8, phases=NO_SHRINKING, suppress_health_check=list(HealthCheck))
def test_taken_into_the_record_that_it_comes_from_it_adds_nothing(told):
    number = next(NUMBERS)
    rows = [",".join(map(quoted, row)) for row in rows_of(told, f"X{number}-")]
    source = taken_in("\n".join([HEADERS, *rows]), f"Estate {number}")
    fed(source)
    document = exported(source)

    plan = intake.check(intake.read("".join(document.csv()).encode()))

    assert [str(fault) for fault in plan.faults] == []
    assert plan.is_there_already, [row.words for row in plan.rows if not row.is_there_already]


@pytest.mark.parametrize("name", ["block_b.csv", "block_c.csv"])
def test_a_crews_own_sheet_comes_back_the_same(db, name):
    with (DEMO / name).open("rb") as file:
        plan = intake.check(
            intake.load(file), estate="Alder", assumptions=Assumptions(terminal_class="GPON B+")
        )
    intake.commit(plan, actor=user(), at=AT)
    source = Place.objects.get(kind="building")
    fed(source)

    document = exported(source)
    copy = taken_in(moved(document, "Birch", prefix="C"), "Birch", **document.assumed)
    fed(copy)

    assert Described(copy, serial_prefix="C").everything() == Described(source).everything()
    assert _told_of_plant(document) == []
