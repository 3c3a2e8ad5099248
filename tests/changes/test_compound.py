"""One step for what trades people ask for in one: move, swap, reroute, cut, retire, renumber."""

from itertools import islice

import pytest

from records.changes import (
    bookings,
    buildings,
    cable_works,
    cables,
    channels,
    cuts,
    equipment,
    jobs,
    joints,
    swaps,
    tags,
)
from records.changes.previews import consequences_of
from records.models import (
    Booking,
    BookingState,
    Cable,
    Channel,
    Equipment,
    Feed,
    Joint,
    JointEnd,
    LegCondition,
    Passage,
    Place,
    Point,
    Tag,
)
from records.models.tag_code import candidate
from records.queries.find import find
from records.queries.history import events
from records.queries.invariants import broken
from records.queries.moment import as_it_stood
from records.queries.paths import paths
from tests.factories import AT, Plant, entry, opened, user
from tests.unchanged import refused

PLANT = """
    olt O x2
    splitter S 1:4
    splitter S2 1:8
    cable F 1200 m x4
    cable D 30 m
    cable D2 35 m
    outlet U @1
    outlet U2 @2
    terminal T @1
    terminal T2 @2
    flat 3
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 - S2
    book S2.3 for 1
    book S2.4 for 2
    bar S2.7 broken tail
    S2.3 = D ~ U - T
    S2.4 = D2 ~ U2 - T2
    """


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


@pytest.fixture(autouse=True)
def _laws_hold_at_the_end(request, db):
    yield
    assert list(broken()) == []


def codes(count):
    found = filter(None, map(candidate, range(0, 32**7, 1_000_003)))
    return list(islice(found, count))


def lit(plant, name):
    return Feed.objects.filter(point=plant[name]).exists()


def level(plant, name):
    return paths(plant[name])[0].lit.level.typical_dbm


def effect(change):
    return change.effect()


def dark_meanwhile(change):
    """Return the terminals that are dark only while a change is done, sure that no other turns."""
    told = effect(change)
    assert not told["terminals_lit"] + told["terminals_darkened"]
    return told["terminals_interrupted"]


# --- Move a flat ---------------------------------------------------------------------------


def test_a_flat_moves_to_another_leg_with_its_booking_and_its_fibre(plant):
    booking = Booking.objects.get(leg=plant["S2.3"])

    with opened() as change:
        bookings.move(change, plant["S2.3"], to=plant["S2.5"])

    booking.refresh_from_db()
    assert (booking.leg_id, booking.state) == (plant["S2.5"], BookingState.LIVE)
    assert Point.objects.get(pk=plant["S2.3"]).condition == LegCondition.SPARE
    assert Point.objects.get(pk=plant["S2.5"]).condition == LegCondition.LIVE
    assert paths(plant["T"])[0].lit.leg_id == plant["S2.5"]
    assert [step["verb"] for step in change.steps] == ["bookings.move"]
    assert effect(change)["terminals_darkened"] == []


def test_a_move_tells_of_bookings_what_came_of_them_in_sum(plant):
    with opened() as change:
        bookings.move(change, plant["S2.3"], to=plant["S2.5"])
    with opened() as swapped:
        cable_works.swap(swapped, plant.id("F"), length_m=1300)

    line = str(Booking.objects.get(leg=plant["S2.5"]).line)
    assert effect(change)["bookings"] == [
        {"leg": plant["S2.5"], "line": line, "what": "taken over from leg 3"},
        {"leg": plant["S2.5"], "what": "live"},
    ]
    assert effect(swapped)["bookings"] == []  # dark for a while, and live again


def test_a_booked_leg_without_a_joint_moves_too(plant):
    with opened() as change:
        joints.part(change, plant.joint("S2.3"))
        bookings.move(change, plant["S2.3"], to=plant["S2.5"])

    assert Booking.objects.get(leg=plant["S2.5"]).state == BookingState.HELD
    assert not JointEnd.objects.filter(point=plant["S2.5"]).exists()


def test_history_tells_from_which_leg_a_booking_came(plant):
    booking = Booking.objects.get(leg=plant["S2.3"])

    with opened() as change:
        bookings.move(change, plant["S2.3"], to=plant["S2.5"])

    latest = events(Booking, booking.pk)[0]
    assert latest.change.number == change.number
    assert [(each.field, each.before, each.after) for each in latest.fields] == [
        ("leg", plant["S2.3"], plant["S2.5"])
    ]


@pytest.mark.parametrize(
    ("to", "code", "words"),
    [
        ("S2.4", "leg_booked", "Leg 4 of S2"),
        ("S2.7", "leg_barred", "broken tail"),
        ("S.1", "leg_onward", "feeds another splitter"),
        ("S2.3", "malformed", "already on leg 3"),
        ("T", "malformed", "not a splitter leg"),
    ],
)
def test_a_flat_is_not_moved_to_a_leg_that_can_not_take_it(plant, to, code, words):
    with refused(code, words, field="to") as change:
        bookings.move(change, plant["S2.3"], to=plant[to])


def test_a_leg_without_a_booking_has_no_flat_to_move(plant):
    with refused("nothing_booked", "Leg 5 of S2", field="leg") as change:
        bookings.move(change, plant["S2.5"], to=plant["S2.6"])


def test_a_flat_is_not_moved_to_a_leg_that_is_joined_already(plant):
    plant.grow("""
        cable X 5 m
        S2.5 = X
        """)
    with refused("point_joined", "Leg 5 of S2") as change:
        bookings.move(change, plant["S2.3"], to=plant["S2.5"])


# --- Swap equipment --------------------------------------------------------------------------


def test_a_splitter_is_swapped_for_a_larger_one_that_keeps_legs_and_bookings(plant):
    kept = list(Booking.objects.order_by("pk").values_list("pk", "line_id"))

    with opened() as change:
        new = swaps.swap(change, plant.id("S2"), entry=entry("splitter", "1:16"), serial="N-1")

    legs = {port.number: port for port in new.ports.filter(role="leg")}
    assert len(legs) == 16
    assert (new.name, new.serial) == ("S2", "N-1")
    assert not Equipment.objects.filter(pk=plant.id("S2")).exists()
    assert list(Booking.objects.order_by("pk").values_list("pk", "line_id")) == kept
    assert set(Booking.objects.values_list("leg_id", "state")) == {
        (legs[3].pk, "live"),
        (legs[4].pk, "live"),
    }
    assert (legs[7].condition, legs[7].barred_reason) == ("barred", "broken tail")
    assert Point.objects.get(pk=plant["S.1"]).condition == LegCondition.ONWARD
    assert effect(change)["terminals_darkened"] == effect(change)["terminals_lit"] == []


def test_a_swapped_splitter_shifts_the_levels_below_it(plant):
    before = level(plant, "T")

    with opened() as change:
        swaps.swap(change, plant.id("S2"), entry=entry("splitter", "1:16"))

    # A 1:16 loses about 3 dB more than a 1:8: twice the ways. Source: arithmetic, 10 log10 2.
    assert 2 < before - level(plant, "T") < 4.5


def test_the_old_splitter_is_still_there_in_the_past(plant):
    with opened() as change:
        swaps.swap(change, plant.id("S2"), entry=entry("splitter", "1:16"))

    with as_it_stood(change.number - 1):
        assert Equipment.objects.get(pk=plant.id("S2")).entry.name == "1:8"
        assert paths(plant["T"])[0].leg.spot.equipment_id == plant.id("S2")


def test_a_swap_for_too_small_a_splitter_is_refused(plant):
    with refused("port_lacking", "Leg 3 of S2", field="entry") as change:
        swaps.swap(change, plant.id("S2"), entry=entry("splitter", "1:2"))


def test_a_terminal_is_swapped_and_its_flat_lit_again(plant):
    with opened() as change:
        new = swaps.swap(change, plant.id("T"), serial="NEW-7")
        homes = consequences_of(change).homes

    port = new.ports.get()
    assert homes == ()  # the same light as before
    assert dark_meanwhile(change) == [port.pk]
    assert Feed.objects.filter(point=port, leg=plant["S2.3"]).exists()
    assert Booking.objects.get(leg=plant["S2.3"]).state == BookingState.LIVE
    assert (new.name, new.serial, new.place_id) == ("T", "NEW-7", plant.flat("1"))
    assert events(Equipment, plant.id("T"))[0].what == "ended"
    assert [event.what for event in events(Equipment, new.pk)] == ["began"]


def test_a_swapped_terminal_of_another_name_is_the_same_home_to_a_job(plant):
    swap = {"verb": "swaps.swap", "arguments": {"equipment": plant.id("T"), "name": "T9"}}
    part = {"verb": "joints.part", "arguments": {"joint": plant.joint("T")}}
    with opened() as change:
        job = jobs.draft(change, name="x", place=plant.building, steps=[swap])
        other = jobs.draft(change, name="y", place=plant.building, steps=[part, swap])

    told = jobs.preview(job.pk, actor=user(), at=AT)
    parted = jobs.preview(other.pk, actor=user(), at=AT)

    assert (told.dark, told.lit) == ([], [])
    (name,) = told.steps[0].interrupted
    assert name.startswith("T9 of ")
    assert [home.terminal for home in parted.dark] == ["T9"]
    assert parted.steps[0].darkened == (name,)


def test_a_home_whose_swapped_terminal_goes_too_keeps_its_name_in_a_job(plant):
    part = {"verb": "joints.part", "arguments": {"joint": plant.joint("T")}}
    swap = {"verb": "swaps.swap", "arguments": {"equipment": plant.id("T"), "name": "T9"}}
    remove = {"verb": "equipment.remove", "arguments": {"equipment": {"step": 2}}}
    with opened() as change:
        job = jobs.draft(change, name="x", place=plant.building, steps=[part, swap, remove])

    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert told.clash is None
    (name,) = told.steps[0].darkened
    assert name.startswith("T of ")
    assert [home.terminal for home in told.dark] == ["T"]


def test_a_serial_that_belongs_to_the_old_thing_is_no_new_thing(plant):
    with opened() as change:
        equipment.rename(change, plant.id("T"), name="T", serial="A-1")

    with refused("name_taken", "Serial A-1 belongs to T", field="serial") as change:
        swaps.swap(change, plant.id("T"), serial="A-1")


def test_an_olt_is_swapped_with_its_channels(plant):
    before = level(plant, "T")
    channel = plant.channel("O.1")

    with opened() as change:
        channels.measure(change, channel, launch_dbm=3.0)
        new = swaps.swap(change, plant.id("O"), serial="OLT-2")

    assert Channel.objects.get(pk=channel).point_id == new.ports.get(number=1).pk
    assert Channel.objects.get(pk=channel).launch_mdbm is None
    assert level(plant, "T") == pytest.approx(before)


def test_an_outlet_is_swapped_with_the_splice_it_houses(plant):
    with opened() as change:
        joint = plant.joint("U.1a")
        joints.part(change, joint)
        joints.join(
            change, plant["D.1b"], plant["U.1a"], kind="fusion", stands_in=plant.id("U"), tray="1"
        )
        new = swaps.swap(change, plant.id("U"))

    back = new.ports.get(role="back")
    housed = JointEnd.objects.get(point=back).joint
    assert (housed.stands_in_id, housed.tray) == (new.pk, "1")
    assert lit(plant, "T")


def test_a_cord_between_two_ports_of_a_swapped_panel_stays_between_them(plant):
    plant.grow("""
        panel P x4
        P.1b - P.2b
        """)
    with opened() as change:
        new = swaps.swap(change, plant.id("P"))

    ports = [new.ports.get(role="front", number=number) for number in (1, 2)]
    assert all(JointEnd.objects.filter(point=port).exists() for port in ports)


def test_the_tags_of_a_swapped_thing_are_void(plant):
    (code,) = codes(1)
    with opened() as change:
        tags.issue(change, count=1, candidates=[code])
        tags.bind(change, code, noun="equipment", thing=plant.id("S2"))

    with opened() as change:
        swaps.swap(change, plant.id("S2"))

    assert Tag.objects.get(code=code).voided.startswith("removed: S2")
    assert "void" in change.steps[0]["words"]


# --- Reroute and swap cables -----------------------------------------------------------------


def test_a_rerouted_cable_is_the_same_with_other_lengths_and_levels(plant):
    before = level(plant, "T")
    with opened() as change:
        cables.measure(change, plant.id("F"), fibre=2, length_m=1210)

    with opened() as change:
        cable_works.reroute(change, plant.id("F"), length_m=2200)

    lengths = Passage.objects.filter(cable=plant.id("F")).order_by("number")
    assert list(lengths.values_list("length_cm", flat=True)) == [220000, 221000, 220000, 220000]
    assert Cable.objects.get(pk=plant.id("F")).length_m == 2200
    assert level(plant, "T") < before
    assert [step["verb"] for step in change.steps] == ["cable_works.reroute"]


def test_a_measured_loss_does_not_hold_on_another_way(plant):
    with opened() as change:
        cables.measure(change, plant.id("F"), fibre=1, loss_db=0.5)
        cable_works.reroute(change, plant.id("F"), length_m=1300)

    assert Passage.objects.get(cable=plant.id("F"), number=1).measured_mdb is None
    assert "1 measured losses no longer hold" in change.steps[-1]["words"]


def test_a_joined_end_is_not_taken_to_another_place(plant):
    with refused("still_joined", "B end", field=None) as change:
        cable_works.reroute(change, plant.id("D"), length_m=30, b_place=plant.flat("3"))


def test_a_free_end_is_taken_to_another_place(plant):
    with opened() as change:
        joints.part(change, plant.joint("D.1b"))
        cable_works.reroute(change, plant.id("D"), length_m=40, b_place=plant.flat("3"))

    assert Cable.objects.get(pk=plant.id("D")).b_place_id == plant.flat("3")
    assert any(each.noun == "cable" for each in find("D flat 3"))


def test_a_cable_is_swapped_fibre_by_fibre(plant):
    with opened() as change:
        new = cable_works.swap(change, plant.id("F"), length_m=1500, fibre_count=12)

    path = paths(plant["T"])[0]
    assert new.name == "F"
    assert new.fibre_count == 12
    assert {hop.spot.cable_id for hop in path.hops if hop.by_kind == "fibre"} >= {new.pk}
    assert not Cable.objects.filter(pk=plant.id("F")).exists()
    assert effect(change)["terminals_darkened"] == []


def test_a_swap_for_too_thin_a_cable_is_refused(plant):
    plant.grow("""
        splitter S9 1:2
        O.2 = F.3 = S9
        """)
    with refused("fibre_lacking", "Fibre 3 of F", field="fibre_count") as change:
        cable_works.swap(change, plant.id("F"), length_m=1500, fibre_count=2)


# --- Cut -------------------------------------------------------------------------------------


def test_a_cut_cable_is_two_cables_with_all_fibres_spliced_through(plant):
    ends = {plant[f"F.{number}b"] for number in (1, 2, 3, 4)}
    joint = plant.joint("F.1b")
    length_m = paths(plant["T"])[0].lit.fibre_m
    before = level(plant, "T")

    with opened() as change:
        made = cuts.cut(
            change,
            plant.id("F"),
            at_m=500,
            place=plant.estate,
            closure_name="K1",
            far_name="F far",
        )
    assert dark_meanwhile(change) == sorted([plant["T"], plant["T2"]])

    near, far = Cable.objects.get(pk=plant.id("F")), made.far_cable
    assert (near.length_m, far.length_m) == (500, 700)
    assert (
        set(Point.objects.filter(passage__cable=far, role="B end").values_list("pk", flat=True))
        == ends
    )
    assert Joint.objects.filter(stands_in=made.closure, kind="fusion").count() == 4
    assert JointEnd.objects.get(point=plant_end(far, 1, "B end")).joint_id == joint
    path = paths(plant["T"])[0]
    assert path.lit.fibre_m == length_m
    assert [hop.spot.cable for hop in path.hops][:5] == ["", "F", "F", "F far", "F far"]
    # One fusion splice more; 0.1 dB at most (common practice).
    assert 0 < before - level(plant, "T") < 0.3


def plant_end(cable, number, role):
    return Point.objects.get(passage__cable=cable, number=number, role=role).pk


def test_lengths_measured_fibre_by_fibre_are_split_and_damage_is_on_both_parts(plant):
    with opened() as change:
        cables.measure(change, plant.id("F"), fibre=2, length_m=1210, loss_db=0.4)
        cables.damage(change, plant.id("F"), fibre=4, why="crushed")
        made = cuts.cut(change, plant.id("F"), at_m=500, place=plant.estate, closure_name="K1")

    parts = Passage.objects.filter(cable__in=[plant.id("F"), made.far_cable.pk])
    second = parts.filter(number=2).order_by("pk")
    assert list(second.values_list("length_cm", "measured_mdb")) == [(50000, None), (71000, None)]
    assert set(parts.filter(number=4).values_list("damage", flat=True)) == {"crushed"}


def test_the_tag_at_the_far_end_stays_there(plant):
    near_code, far_code = codes(2)
    with opened() as change:
        tags.issue(change, count=2, candidates=[near_code, far_code])
        tags.bind(change, near_code, noun="cable", thing=plant.id("F"), cable_end="A")
        tags.bind(change, far_code, noun="cable", thing=plant.id("F"), cable_end="B")

    with opened() as change:
        made = cuts.cut(change, plant.id("F"), at_m=500, place=plant.estate, closure_name="K1")

    assert Tag.objects.get(code=near_code).cable_id == plant.id("F")
    assert Tag.objects.get(code=far_code).cable_id == made.far_cable.pk


def test_a_cable_is_cut_in_a_closure_that_stands_there(plant):
    plant.grow("closure K")

    with opened() as change:
        made = cuts.cut(change, plant.id("F"), at_m=1, closure=plant.id("K"), tray_fibres=2)

    assert made.closure.pk == plant.id("K")
    trays = Joint.objects.filter(stands_in=plant.id("K")).order_by("pk")
    assert list(trays.values_list("tray", flat=True)) == ["1", "1", "2", "2"]


@pytest.mark.parametrize(
    ("told", "words", "field"),
    [
        ({"at_m": 1200, "closure_name": "K1"}, "can't be cut at 1200 m", "at_m"),
        ({"at_m": 0, "closure_name": "K1"}, "can't be cut at 0 m", "at_m"),
        ({"at_m": 5, "closure_name": ""}, "name is empty", "name"),
        ({"at_m": 5, "closure_name": "K1", "kind": "mated"}, "not a kind", "kind"),
        ({"at_m": 5, "closure_name": "K1", "tray_fibres": 0}, "0 is not", "tray_fibres"),
    ],
)
def test_a_cut_that_can_not_be_is_refused(plant, told, words, field):
    with refused("malformed", words, field=field) as change:
        cuts.cut(change, plant.id("F"), place=plant.estate, **told)


def test_a_cut_needs_a_closure_and_a_cable(plant):
    plant.grow("cord C 2 m")
    with refused("malformed", "Neither a closure nor a place", field="closure") as change:
        cuts.cut(change, plant.id("F"), at_m=5)
    with refused("malformed", "is a splitter", field="closure") as change:
        cuts.cut(change, plant.id("F"), at_m=5, closure=plant.id("S"))
    with refused("malformed", "patch cord", field="cable") as change:
        cuts.cut(
            change, plant.id("C"), at_m=1, place=plant.estate, closure_name="K1", tray_fibres=1
        )


# --- Retire and renumber ---------------------------------------------------------------------


def test_a_building_is_retired_with_all_that_stands_in_it(plant):
    with opened() as change:
        buildings.retire(change, plant.building)

    assert Place.objects.get(pk=plant.building).retired
    assert list(Equipment.objects.values_list("name", flat=True)) == ["O"]
    assert not Cable.objects.exists()
    assert not Booking.objects.open().exists()
    assert effect(change)["terminals_darkened"] == sorted(
        [plant_gone(change, "T"), plant_gone(change, "T2")]
    )
    assert [step["verb"] for step in change.steps] == ["buildings.retire"]
    assert "2 bookings released" in change.steps[0]["words"]


def plant_gone(change, name):
    with as_it_stood(change.number - 1):
        return Point.objects.get(equipment__name=name).pk


def test_a_cable_that_leads_out_stays_and_is_named(plant):
    with opened() as change:
        cables.lay(change, name="Out", a_place=plant.head_end, b_place=plant.riser, length_m=9)
        buildings.retire(change, plant.building)

    assert Cable.objects.get().name == "Out"
    assert change.warnings == ["Out (Hut to Riser) still leads there; part of it may be in use"]


def test_a_head_end_is_retired_with_its_channels_standbys_first(plant):
    plant.grow("light O.2 GPON B+ standby O.1")

    with opened() as change:
        buildings.retire(change, plant.head_end)

    assert not Channel.objects.exists()
    assert not Feed.objects.exists()


def test_what_is_retired_can_not_be_retired_again(plant):
    with opened() as change:
        buildings.retire(change, plant.building)

    with refused("place_retired", "Block A is retired", field="place") as change:
        buildings.retire(change, plant.building)


def test_two_flats_swap_their_names_at_once(plant):
    flats = [plant.flat("1"), plant.flat("2")]

    with opened() as change:
        buildings.renumber(change, flats=flats, names=["Flat 2", "Flat 1"])

    names = dict(Place.objects.filter(pk__in=flats).values_list("pk", "name"))
    assert names == {plant.flat("1"): "Flat 2", plant.flat("2"): "Flat 1"}
    assert find("block a flat 2")[0].id == plant.flat("1")
    assert "Flat 1 is now Flat 2, Flat 2 is now Flat 1" in change.steps[0]["words"]


@pytest.mark.parametrize(
    ("flats", "names", "code", "words"),
    [
        ("12", ["Flat 3", "Flat 9"], "name_taken", "two places called Flat 3"),
        ("12", ["Flat 9", "flat 9"], "name_taken", "two places called flat 9"),
        ("12", ["Flat 9"], "malformed", "2 flats and 1 names"),
        ("11", ["Flat 8", "Flat 9"], "malformed", "each flat once"),
        ("", [], "malformed", "0 flats"),
        ("1", [" "], "malformed", "names is empty"),
    ],
)
def test_names_that_would_clash_are_refused(plant, flats, names, code, words):  # noqa: PLR0917
    with refused(code, words, field="names") as change:
        buildings.renumber(change, flats=[plant.flat(each) for each in flats], names=names)
