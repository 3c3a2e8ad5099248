"""A sheet is taken in whole, once, or not at all."""

import pytest

from records import intake
from records.changes import Refusal, cables, equipment, places
from records.intake import Assumptions, FaultsError, Kind, _commit
from records.models import (
    Booking,
    Cable,
    Change,
    Equipment,
    EquipmentKind,
    Feed,
    JointEnd,
    JointKind,
    Passage,
    Place,
    Point,
    Reading,
    Role,
)
from records.queries.invariants import broken
from tests.factories import AT, Plant, opened, user
from tests.intake.sheets import checked, rehearsed, row, said, sheet, taken_in
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x1
    splitter S 1:8
    cable F 1200 m x1
    light O.1 GPON B+
    O.1 = F = S
"""


@pytest.fixture
def plant():
    return Plant(PLANT)


def _terminal(serial):
    return Point.objects.get(equipment__serial=serial, role=Role.TERMINAL)


def test_a_row_becomes_a_path_from_the_leg_to_a_lit_terminal(plant):
    change = taken_in(row(1), row(2))

    port = _terminal("TX0002")
    feed = Feed.objects.get(point=port)
    assert feed.leg_id == plant["S.2"]
    assert feed.length_cm == (1200 + 22 + 2) * 100
    booking = Booking.objects.get(leg=plant["S.2"])
    assert (booking.state, booking.line.place.name) == ("live", "Flat 2")
    reading = Reading.objects.get(point=port)
    assert (reading.level_mdbm, reading.wavelength_nm) == (-17_700, 1490)
    assert port.pk in change.effect()["terminals_lit"]
    assert list(broken()) == []


def test_a_sheet_is_one_change_of_one_step_with_its_counts(plant):
    before = Change.objects.count()

    change = taken_in(row(1), row(2), row(3))

    assert Change.objects.count() == before + 1
    kept = Change.objects.get(number=change.number)
    assert (kept.reason, kept.verb) == ("a sheet", "intake.take_in")
    (step,) = kept.effect["steps"]
    assert step["words"] == (
        "took in 3 rows: 1 floor, 3 flats, 3 outlets, 3 cables, 3 home terminals, 3 bookings, "
        "3 readings, 9 joints"
    )


def test_a_whole_building_may_be_new(plant):
    taken_in(
        row(1, building="Block N", splitter="S-N", floor="G", ratio="1:16"),
        row(2, building="Block N", splitter="S-N", floor="1"),
        more="ratio",
    )

    splitter = Equipment.objects.get(name="S-N")
    assert splitter.ports.filter(role=Role.LEG).count() == 16
    assert (splitter.place.kind, splitter.place.name) == ("riser cupboard", "Riser")
    floors = Place.objects.filter(kind="floor").values_list("name", "storey")
    assert sorted(floors) == [("Floor 1", 1), ("Ground floor", 0)]
    assert Booking.objects.open().filter(state="held").count() == 2
    assert list(broken()) == []


def test_taking_a_sheet_in_again_adds_nothing(plant):
    not_cabled = row(3, cable="", fibre="", serial="", reading="")
    rows = (row(1), row(2, serial="", reading="no light"), not_cabled)
    taken_in(*rows)

    again = checked(*rows)

    assert again.is_sound, said(again)
    assert again.is_there_already
    assert all(count.new == 0 for count in again.counts)


def test_a_row_may_be_built_in_steps(plant):
    later = row(2, cable="", fibre="", serial="", reading="", length="")
    taken_in(row(1, splitter="", leg="", cable="", fibre="", serial="", reading=""), later)
    assert Booking.objects.get(leg=plant["S.2"]).state == "held"

    taken_in(row(1, serial="", reading=-17), row(2))

    assert Booking.objects.get(leg=plant["S.2"]).state == "live"
    outlet = Point.objects.get(equipment__place__name="Flat 1", role=Role.FRONT)
    assert Reading.objects.get(point=outlet).level_mdbm == -17_000
    assert list(broken()) == []


def test_a_riser_cable_may_serve_a_floor_with_a_length_for_each_fibre(plant):
    taken_in(
        row(1, cable="R1", fibre=1, length=10, fibres=12),
        row(2, cable="R1", fibre=2, length=14, fibres=""),
        more="fibres",
    )

    cable = Cable.objects.get(name="R1")
    assert (cable.fibre_count, cable.length_m, cable.b_place.name) == (12, 14, "Ground floor")
    lengths = Passage.objects.filter(cable=cable, number__lte=2).order_by("number")
    assert [fibre.length_cm for fibre in lengths] == [1000, 1400]


def test_a_cable_gets_the_connector_that_a_recorded_outlet_has_behind(plant):
    plant.grow("outlet Outlet @1")

    taken_in(row(1))

    joint = JointEnd.objects.get(point__equipment__kind="outlet", point__role=Role.BACK).joint
    assert joint.kind == JointKind.MATED


def test_a_cable_over_two_floors_ends_in_the_building(plant):
    taken_in(row(1, cable="R1", fibre=1), row(2, cable="R1", fibre=2, floor=1))

    assert Cable.objects.get(name="R1").b_place_id == plant.building


def test_a_splitter_of_the_estate_outside_buildings_is_meant_where_the_building_has_none(plant):
    splitter = Equipment.objects.get(name="S")
    with opened() as change:
        cabinet = places.add(change, kind="cabinet", name="Cabinet 1", parent=plant.estate).pk
        equipment.move(change, splitter.pk, place=cabinet)

    plan = checked(row(1, building="Block N"))

    assert _splitter(plan).pk == splitter.pk
    assert "S is the one in Cabinet 1" in str(plan.remarks[0])


def _splitter(plan):
    return next(item for item in plan.rows[0].items if item.kind == Kind.SPLITTER)


def test_a_row_may_name_the_cupboard_of_its_splitter(plant):
    taken_in(row(1), row(2, splitter="N") + " | Riser 2", row(3, splitter="N"), more="cupboard")

    two = Equipment.objects.filter(name="N").order_by("pk")
    assert [each.place.name for each in two] == ["Riser 2", "Riser"]
    assert Cable.objects.get(name="D2").a_place.name == "Riser 2"
    assert Equipment.objects.filter(name="S").count() == 1


def test_a_splitter_of_another_building_is_not_meant(plant):
    plan = checked(row(1, building="Block N"))

    assert _splitter(plan).is_new


def test_assumptions_decide_what_the_sheet_leaves_open(plant):
    assumptions = Assumptions(
        splitter="1:4",
        splitter_polish="",
        cupboard="Lift room",
        fibre="G.657.B3",
        colour_scheme="",
        outlet="Socket",
        splice="mechanical splice",
        terminal="Box",
        terminal_class="GPON B+",
        cord_length_m=0.5,
        wavelength_nm=1310,
    )
    taken_in(row(1, building="Block N", splitter="S-N"), assumptions=assumptions)

    splitter = Equipment.objects.get(name="S-N")
    cable = Cable.objects.get(name="D1")
    terminal = Equipment.objects.get(kind=EquipmentKind.TERMINAL)
    assert (str(splitter.entry), splitter.place.name) == ("1:4", "Lift room")
    assert (cable.entry.name, cable.colour_scheme) == ("G.657.B3", None)
    assert splitter.ports.filter(polish="").count() == 5
    joint = JointEnd.objects.get(point__equipment=splitter).joint
    assert joint.kind == JointKind.MECHANICAL
    assert (terminal.name, str(terminal.optical_class)) == ("Box", "GPON B+")
    assert Cable.objects.get(kind="cord").length_m == 0.5
    assert Reading.objects.get().wavelength_nm == 1310


def test_a_plan_with_faults_is_not_committed(plant):
    plan = checked(row(1), row(2, leg=9))

    with nothing_written(), pytest.raises(FaultsError, match="Row 3, leg: S has no leg 9"):
        intake.commit(plan, actor=user(), at=AT)


def test_a_row_that_a_verb_refuses_is_named_and_nothing_is_written(plant):
    _lay_bare(plant, "D2")
    plan = checked(row(1), row(2), row(3))
    assert plan.is_sound

    with nothing_written(), pytest.raises(FaultsError) as caught:
        intake.commit(plan, actor=user(), at=AT)

    (fault,) = caught.value.faults
    assert (fault.row, fault.column, fault.value) == (3, "leg", "2")
    assert "A end of fibre 1 of D2 is a bare end and can't be mated." in fault.message
    assert "Splice it" in fault.allowed


def _lay_bare(plant, *names):
    """Lay cables that end bare, where the splitter has connectors: only the verbs mind."""
    with opened() as change:
        for name in names:
            cables.lay(change, name=name, a_place=plant.riser, b_place=plant.building, length_m=22)


def test_a_rehearsal_writes_nothing_and_names_every_row_that_is_refused(plant):
    _lay_bare(plant, "D2", "D3")
    plan = checked(row(1), row(2), row(3))

    with nothing_written():
        faults = rehearsed(plan)

    assert [(fault.row, fault.column) for fault in faults] == [(3, "leg"), (4, "leg")]


def test_a_leg_booked_between_check_and_commit_is_refused(plant):
    plan = checked(row(1), row(2))
    plant.grow("flat 7\nbook S.2 for 7")

    with nothing_written(), pytest.raises(FaultsError, match=r"Leg 2 of S .* is held for line"):
        intake.commit(plan, actor=user(), at=AT)


def test_a_refusal_of_the_whole_change_is_no_fault_of_a_row(plant):
    plan = checked(row(1))

    with nothing_written(), pytest.raises(Refusal, match="reason has 301 characters"):
        intake.commit(plan, actor=user(), at=AT, reason="x" * 301)


def test_progress_is_told_after_each_lot_of_rows(plant, monkeypatch):
    told = []
    plan = checked(row(1), row(2), row(3))
    monkeypatch.setattr(_commit, "TOGETHER", 2)

    intake.commit(plan, actor=user(), at=AT, progress=lambda *each: told.append(each))

    assert told == [(2, 3), (3, 3)]


def test_a_note_goes_with_the_reading_or_with_a_new_flat(plant):
    taken_in(
        row(1, note="bend"),
        row(2, serial="", reading="", note="no access"),
        more="note",
    )

    assert Reading.objects.get().note == "bend"
    assert Place.objects.get(name="Flat 2").note == "no access"
    assert Place.objects.get(name="Flat 1").note == ""


def test_a_sheet_of_150_flats_asks_no_query_a_row_to_check(plant, django_assert_max_num_queries):
    rows = [row(n, splitter=f"S{n // 32}", leg=n % 32 + 1) for n in range(1, 151)]
    read = sheet(*rows)

    with django_assert_max_num_queries(20):
        plan = intake.check(read, estate="Alder Close")

    assert plan.is_sound
