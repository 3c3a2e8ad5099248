"""What verbs do many times at once is what they do one after the other, refusals included."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.changes import Refusal, bookings, cables, equipment, joints, lines, places
from records.changes._light import FacingLight
from records.changes.bookings import NewBooking
from records.changes.cables import NewCable
from records.changes.equipment import NewEquipment
from records.changes.joints import NewJoint, NewPatch
from records.changes.lines import NewLine
from records.changes.places import NewPlace
from records.models import Booking, Cable, Feed, Line, Place, Point
from records.queries.invariants import INVARIANTS, broken
from tests.by_name import record_by_name
from tests.factories import Plant, opened
from tests.unchanged import refused

pytestmark = pytest.mark.django_db

LIT = """
    olt O x2
    splitter S 1:8
    splitter R 2:4
    cable F 1200 m x4
    cable D1 20 m
    cable D2 20 m
    cable D3 20 m
    outlet U1 @1
    outlet U2 @2
    outlet U3 @3
    terminal T1 @1
    terminal T2 @2
    terminal T3 @3
    light O.1 GPON B+
    light O.2 GPON B+ standby O.1
    O.1 = F.1 = S
    D1 ~ U1
    D2 ~ U2
    D3 ~ U3
"""


@pytest.fixture
def plant():
    return Plant(LIT)


def _mated(plant, *pairs):
    return [NewJoint(a=plant[a], b=plant[b], kind="mated") for a, b in pairs]


PAIRS = (("S.1", "D1.1a"), ("U2.1b", "T2"), ("S.2", "D2.1a"), ("T1", "U1.1b"))


def test_joints_made_together_light_what_they_would_light_one_by_one(plant):
    with opened(preview=True) as change:
        for pair in PAIRS:
            joints.join(change, plant[pair[0]], plant[pair[1]], kind="mated")
        one_by_one = record_by_name()

    with opened() as change:
        joints.join_all(change, _mated(plant, *PAIRS))

    assert record_by_name() == one_by_one
    assert Feed.objects.filter(point=plant["T1"]).get().leg_id == plant["S.1"]
    assert change.effect()["terminals_lit"] == sorted([plant["T1"], plant["T2"]])
    assert list(broken()) == []


def test_both_feeders_of_a_splitter_may_be_joined_at_once(plant):
    plant.grow("O.2 = F.2")
    with opened() as change:
        joints.part(change, plant.joint("S.in"))
        joints.join_all(change, _mated(plant, ("F.1b", "R.in1"), ("F.2b", "R.in2")))

    assert Feed.objects.filter(point=plant["R.4"]).count() == 2
    assert list(broken()) == []


def test_a_joint_that_another_lights_is_judged_by_its_light(plant):
    plant.grow("coupler W PON and video\nS.2 = F.4")

    with opened() as change:
        pairs = (("S.1", "F.3a"), ("F.3b", "W.2"), ("F.4b", "W.com"))
        joints.join_all(change, _mated(plant, *pairs))

    assert Feed.objects.filter(point=plant["W.2"]).get().leg_id == plant["S.1"]
    assert Feed.objects.filter(point=plant["W.com"]).get().leg_id == plant["S.2"]
    assert list(broken()) == []


@pytest.mark.parametrize("order", [1, -1])
def test_a_dark_loop_is_refused_whichever_joint_comes_last(plant, order):
    plant.grow("coupler W PON and video")

    with refused("loop", "This would close a loop") as change:
        for a, b in (("F.3b", "W.com"), ("W.1", "W.2"))[::order]:
            joints.join(change, plant[a], plant[b], kind="mated")


@pytest.mark.parametrize("order", [1, -1])
def test_a_standby_may_be_joined_beside_what_hangs_from_its_splitter(plant, order):
    pairs = (("F.2b", "R.in2"), ("R.1", "D1.1a"))[::order]
    plant.grow("O.2 = F.2")
    with opened() as change:
        joints.part(change, plant.joint("S.in"))
        joints.join(change, plant["F.1b"], plant["R.in1"], kind="mated")
        joints.join_all(change, _mated(plant, *pairs))

    assert Feed.objects.filter(point=plant["U1.1b"]).count() == 2
    assert list(broken()) == []


LOOSE = (
    *("O.2", "S.1", "S.2", "R.in1", "R.in2", "R.1", "R.2", "F.2a", "F.2b", "F.3a", "F.3b"),
    *("F.4a", "F.4b", "D1.1a", "D2.1a", "U1.1b", "U2.1b", "T1", "T2"),
)
"""Free points, lit and dark: in pairs they make trees, second paths, loops and nonsense."""


_LAWS_OF_NOW = [law for law in INVARIANTS if not law.__module__.endswith("history")]
"""The laws that hold before a change is sealed."""


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.permutations(LOOSE), st.integers(1, 5))
def test_any_joints_are_made_together_if_they_can_be_one_by_one(plant, points, count):
    wanted = _mated(plant, *zip(points[:count], points[count : 2 * count], strict=True))

    one_by_one = _joined(
        plant,
        lambda change: [joints.join(change, each.a, each.b, kind="mated") for each in wanted],
    )
    together = _joined(plant, lambda change: joints.join_all(change, wanted))

    assert together == one_by_one


def _joined(plant, join):
    """Join and leave nothing of it; return what came of it, None where it was refused."""
    try:
        with opened(preview=True) as change:
            join(change)
            return record_by_name(), list(broken(_LAWS_OF_NOW))
    except Refusal:
        return None


@pytest.mark.parametrize(
    ("pairs", "code", "text"),
    [
        ((("S.1", "F.3a"), ("S.2", "F.3b")), "second_path", "S (Alder Close, Block A, Riser)"),
        ((("F.3a", "F.4a"), ("F.3b", "F.4b")), "loop", "This would close a loop"),
        ((("S.1", "D1.1a"), ("D1.1a", "S.2")), "point_joined", "would be in 2 joints"),
        ((("S.1", "D1.1a"), ("S.2", "T1")), "point_joined", ""),
    ],
)
def test_joints_of_which_one_clashes_are_refused_all(plant, pairs, code, text):
    plant.grow("U1 - T1")

    with refused(code, text) as change:
        joints.join_all(change, _mated(plant, *pairs))


def test_each_booked_leg_may_lead_to_its_own_flat_and_no_other(plant):
    plant.grow("book S.1 for 1\nbook S.2 for 2")

    second = Line.objects.get(pk=plant.line("2"))

    with refused("led_astray", "Leg 2 of S", f"for line {second}", "U3") as change:
        joints.join_all(change, _mated(plant, ("S.1", "D1.1a"), ("S.2", "D3.1a")))
    with opened() as change:
        joints.join_all(change, _mated(plant, ("S.1", "D1.1a"), ("S.2", "D2.1a")))


def test_cords_patched_together_get_the_next_numbers(plant):
    with opened(preview=True) as change:
        for number in (1, 2):
            joints.patch(change, plant[f"U{number}.1b"], plant[f"T{number}"], length_m=1)
        one_by_one = record_by_name()

    with opened() as change:
        wanted = [NewPatch(a=plant[f"U{n}.1b"], b=plant[f"T{n}"], length_m=1) for n in (1, 2)]
        joints.patch_all(change, wanted)

    assert record_by_name() == one_by_one


def test_a_cord_without_a_name_gets_none_that_is_given_beside_it(plant):
    plant.grow("panel P x2\npanel Q x2")
    names = ("cord 1", "")

    with opened() as change:
        wanted = [
            NewPatch(a=plant[f"P.{n}b"], b=plant[f"Q.{n}b"], name=name)
            for n, name in enumerate(names, start=1)
        ]
        joints.patch_all(change, wanted)

    cords = Cable.objects.filter(kind="cord").order_by("pk")
    assert [cord.name for cord in cords] == ["cord 1", "CORD 2"]


def test_a_line_without_an_identifier_gets_none_that_is_given_beside_it(plant):
    latest = Line.objects.latest("pk").pk
    given = f"L{latest + 1:06d}"

    with opened() as change:
        opened_lines = lines.open_all(
            change, [NewLine(plant.flat("1"), given), NewLine(plant.flat("2"))]
        )

    assert [each.identifier for each in opened_lines] == [given, f"L{latest + 2:06d}"]


def test_places_added_together_come_one_after_the_other_in_the_tree(plant):
    with opened() as change:
        added = places.add_all(
            change,
            [
                NewPlace(kind="estate", name="Birch Close"),
                NewPlace(kind="flat", name="Flat 7", parent=plant.building),
                NewPlace(kind="floor", name="Floor 1", parent=plant.building, storey=1),
                NewPlace(kind="pole", name="Pole 1", parent=plant.estate),
            ],
        )

    inside = Place.objects.get_children(Place.objects.get(pk=plant.building))
    assert [place.name for place in inside][-2:] == ["Flat 7", "Floor 1"]
    assert Line.objects.get(place=added[1]).identifier.startswith("L0")
    assert Place.objects.find_problems() == ([], [], [], [], [])


def test_bookings_promised_together_are_held(plant):
    wanted = [NewBooking(plant[f"S.{n}"], plant.line(str(n))) for n in (1, 2, 3)]

    with opened() as change:
        bookings.book_all(change, wanted)

    assert Booking.objects.filter(state="held").count() == 3
    assert [each["what"] for each in change.effect()["bookings"]] == ["booked"] * 3
    assert list(broken()) == []


def test_a_fibre_may_be_laid_with_a_length_of_its_own(plant):
    new = NewCable(
        name="R",
        a_place=plant.riser,
        b_place=plant.building,
        length_m=30,
        fibre_count=3,
        lengths_m={2: 12.5},
    )

    with opened() as change:
        (cable,) = cables.lay_all(change, [new])

    assert [each.length_cm for each in cable.fibres.order_by("number")] == [3000, 1250, 3000]


def _cable(plant, name):
    return NewCable(name=name, a_place=plant.riser, b_place=plant.building, length_m=9)


def _box(plant, name, serial=""):
    return NewEquipment(kind="closure", place=plant.riser, name=name, serial=serial)


TWICE = {
    "a place": (
        lambda plant, change: places.add_all(
            change,
            [NewPlace(kind="floor", name=name, parent=plant.building) for name in ("G", "g")],
        ),
        "name_taken",
        "already a place called g in Alder Close, Block A",
    ),
    "a cable": (
        lambda plant, change: cables.lay_all(change, [_cable(plant, "New"), _cable(plant, "NEW")]),
        "name_taken",
        "already a cable NEW from Alder Close, Block A, Riser",
    ),
    "an equipment": (
        lambda plant, change: equipment.install_all(change, [_box(plant, "K"), _box(plant, "k")]),
        "name_taken",
        "An equipment called k stands in Alder Close, Block A, Riser already",
    ),
    "a serial": (
        lambda plant, change: equipment.install_all(
            change, [_box(plant, "K", "X1"), _box(plant, "L", "X1")]
        ),
        "name_taken",
        "Serial X1 is given to 2 equipment",
    ),
    "a leg": (
        lambda plant, change: bookings.book_all(
            change, [NewBooking(plant["S.1"], plant.line(home)) for home in "12"]
        ),
        "leg_booked",
        "Leg 1 of S (Alder Close, Block A, Riser) would be booked 2 times",
    ),
    "a line": (
        lambda plant, change: bookings.book_all(
            change, [NewBooking(plant[leg], plant.line("1")) for leg in ("S.1", "S.2")]
        ),
        "line_booked",
        "would have 2 legs",
    ),
    "an identifier": (
        lambda plant, change: lines.open_all(
            change, [NewLine(plant.flat(home), "X-1") for home in "12"]
        ),
        "name_taken",
        "already a line X-1",
    ),
}


@pytest.mark.parametrize("what", TWICE)
def test_what_is_wanted_twice_at_once_is_refused(plant, what):
    act, code, text = TWICE[what]

    with refused(code, text) as change:
        act(plant, change)


def test_what_was_tried_and_refused_leaves_nothing_and_the_change_goes_on(plant):
    with opened() as change:
        with pytest.raises(FacingLight):
            _try_a_clash(plant, change)
        cables.lay(change, name="X", a_place=plant.riser, b_place=plant.building, length_m=9)

    assert Cable.objects.filter(name="X").exists()
    assert not Booking.objects.exists()
    assert not hasattr(Point.objects.get(pk=plant["S.1"]), "joint_end")
    effect = change.effect()
    assert [step["verb"] for step in effect["steps"]] == ["cables.lay"]
    assert (effect["bookings"], effect["feeds_written"]) == ([], 0)
    assert list(broken()) == []


def test_what_was_tried_and_refused_is_not_in_the_words_of_its_step(plant):
    with opened() as change, change.as_one_step("a sheet"):
        change.say("nothing yet")
        with pytest.raises(FacingLight):
            _try_a_clash(plant, change)

        assert change.steps == [{"verb": "a sheet", "words": "nothing yet"}]


def _try_a_clash(plant, change):
    with change.attempt():
        bookings.book(change, plant["S.3"], line=plant.line("3"))
        joints.join(change, plant["S.1"], plant["D1.1a"], kind="mated")
        joints.join(change, plant["O.2"], plant["U1.1b"], kind="mated")
