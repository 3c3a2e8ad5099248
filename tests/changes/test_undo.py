"""Each change can be reversed by steps, or it is said what stands in the way."""

from itertools import islice

import pytest

from records.changes import (
    Refusal,
    bookings,
    buildings,
    cable_works,
    cables,
    catalogue,
    channels,
    cuts,
    equipment,
    joints,
    lines,
    places,
    readings,
    retention,
    swaps,
    tags,
)
from records.changes import steps as planning
from records.changes.figures import GivenFigure
from records.changes.undo import propose, reversing
from records.models import Reading
from records.models.tag_code import candidate
from records.queries import chain
from records.queries.invariants import broken
from tests.by_name import record_by_name
from tests.factories import Plant, entry, opened, optical_class, user

PLANT = """
    olt O x2
    splitter S 1:4
    splitter S2 1:8
    panel P x2
    closure K
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


def reverse(number):
    """Reverse a change as proposed, in one change."""
    proposal = propose(number)
    assert proposal.is_possible, proposal.obstacles
    made = []
    with opened(reason=f"reverses {number}") as change:
        for each, step in enumerate(planning.checked(list(proposal.steps)), start=1):
            made.append(planning.run(change, step, each, made))
    return proposal


def measured(plant, change):
    cables.measure(change, plant.id("F"), fibre=1, length_m=1210, loss_db=0.5)
    joints.measure(change, plant.joint("D.1b"), loss_db=0.07)
    bookings.measure(change, plant["S2.3"], loss_db=10.2)
    channels.measure(change, plant.channel("O.1"), launch_dbm=2.5)


def moved_in_a_job(plant, change):
    joints.part(change, plant.joint("S2.3"))
    joints.part(change, plant.joint("S2.4"))
    bookings.release(change, plant["S2.3"])
    bookings.release(change, plant["S2.4"])
    bookings.book(change, plant["S2.3"], line=plant.line("2"))
    bookings.book(change, plant["S2.4"], line=plant.line("1"))
    joints.join(change, plant["S2.4"], plant["D.1a"], kind="mated")
    joints.join(change, plant["S2.3"], plant["D2.1a"], kind="mated")


def swapped_names(plant, change):
    equipment.rename(change, plant.id("S"), name="aside")
    equipment.rename(change, plant.id("S2"), name="S")
    equipment.rename(change, plant.id("S"), name="S2")


def rehoused(plant, change):
    joints.part(change, plant.joint("D.1b"))
    joints.join(
        change,
        plant["D.1b"],
        plant["U.1a"],
        kind="mechanical",
        stands_in=plant.id("K"),
        tray="2",
        loss_db=0.2,
    )


def in_a_new_flat(plant, change):
    flat = places.add(change, kind="flat", name="Flat 9", parent=plant.building)
    cable = cables.lay(
        change,
        name="D9",
        a_place=plant.riser,
        b_place=flat.pk,
        length_m=50,
        a_polish="APC",
        b_polish="APC",
    )
    terminal = equipment.install(change, kind="terminal", place=flat.pk, name="T9")
    a, b = cable.fibres.get().points.order_by("side")
    bookings.book(change, plant["S2.5"], line=flat.lines.get().pk)
    joints.join(change, plant["S2.5"], a.pk, kind="mated")
    joints.join(change, b.pk, terminal.ports.get().pk, kind="mated")


def with_standby(plant, change):
    channels.light(
        change,
        plant["O.2"],
        optical_class=optical_class("GPON B+"),
        standby_for=plant.channel("O.1"),
    )


DEEDS = {
    "part": lambda plant, change: joints.part(change, plant.joint("F.1b")),
    "join": lambda plant, change: joints.join(change, plant["F.2b"], plant["P.1a"], kind="mated"),
    "patch": lambda plant, change: joints.patch(change, plant["P.1b"], plant["S2.6"]),
    "book": lambda plant, change: bookings.book(change, plant["S2.6"], line=plant.line("3")),
    "part and release": lambda plant, change: (
        joints.part(change, plant.joint("S2.3")),
        bookings.release(change, plant["S2.3"]),
    ),
    "bar": lambda plant, change: bookings.bar(change, plant["S2.6"], why="dirty"),
    "unbar": lambda plant, change: bookings.unbar(change, plant["S2.7"]),
    "move": lambda plant, change: bookings.move(change, plant["S2.3"], to=plant["S2.6"]),
    "move in a job": moved_in_a_job,
    "measure": measured,
    "damage": lambda plant, change: cables.damage(change, plant.id("F"), fibre=3, why="crushed"),
    "rehouse": rehoused,
    "rename place": lambda plant, change: places.rename(change, plant.building, name="Block Z"),
    "renumber": lambda plant, change: buildings.renumber(
        change, flats=[plant.flat("1"), plant.flat("2")], names=["Flat 2", "Flat 1"]
    ),
    "rename": lambda plant, change: equipment.rename(
        change, plant.id("S"), name="S9", serial="A-7"
    ),
    "swap names": swapped_names,
    "rename cable": lambda plant, change: cables.rename(change, plant.id("F"), name="F9"),
    "move equipment": lambda plant, change: equipment.move(
        change, plant.id("P"), place=plant.head_end
    ),
    "install": lambda plant, change: equipment.install(
        change, kind="splitter", place=plant.riser, name="S3", entry=entry("splitter", "1:2")
    ),
    "remove": lambda plant, change: equipment.remove(change, plant.id("P")),
    "lay": lambda plant, change: cables.lay(
        change, name="X", a_place=plant.riser, b_place=plant.flat("3"), length_m=9
    ),
    "remove cable": lambda plant, change: (
        joints.part(change, plant.joint("D.1a")),
        joints.part(change, plant.joint("D.1b")),
        cables.remove(change, plant.id("D")),
    ),
    "add and connect": in_a_new_flat,
    "light": with_standby,
    "darken": lambda plant, change: channels.darken(change, plant.channel("O.1")),
    "swap splitter": lambda plant, change: swaps.swap(
        change, plant.id("S2"), entry=entry("splitter", "1:16")
    ),
    "swap OLT": lambda plant, change: swaps.swap(change, plant.id("O"), serial="N-1"),
    "swap outlet": lambda plant, change: swaps.swap(change, plant.id("U"), polish="APC"),
    "reroute": lambda plant, change: cable_works.reroute(change, plant.id("F"), length_m=1500),
    "swap cable": lambda plant, change: cable_works.swap(
        change, plant.id("F"), length_m=1500, fibre_count=12
    ),
    "retire": lambda plant, change: places.retire(change, plant.flat("3")),
    "retire building": lambda plant, change: buildings.retire(change, plant.building),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_done_and_undone_the_record_is_as_it_was(plant, deed):
    if deed != "measure":  # what was measured has to come back too
        with opened() as change:
            measured(plant, change)
    before = record_by_name()

    with opened() as change:
        DEEDS[deed](plant, change)
    done = record_by_name()
    reverse(change.number)

    assert done != before
    assert record_by_name() == before
    assert list(broken()) == []
    assert chain.first_break() is None


def test_an_undo_can_be_undone(plant):
    with opened() as change:
        DEEDS["move in a job"](plant, change)
    done = record_by_name()
    reverse(change.number)

    reverse(change.number + 1)

    assert record_by_name() == done


def test_a_thing_brought_anew_is_said_to_be_new(plant):
    with opened() as change:
        equipment.remove(change, plant.id("P"))

    proposal = reverse(change.number)

    assert proposal.place == plant.riser
    assert proposal.steps[0].note == "a new thing in place of the panel that was removed"
    assert proposal.notes == (
        "P comes back as a new thing with its own history; the old one stays removed.",
    )


def test_places_that_were_retired_before_stay_retired(plant):
    with opened() as change:
        places.retire(change, plant.flat("3"))
    before = record_by_name()
    with opened() as change:
        buildings.retire(change, plant.building)

    reverse(change.number)

    assert record_by_name() == before


# --- What stands in the way -------------------------------------------------------------------


def obstacle(number, *texts):
    proposal = propose(number)
    assert not proposal.is_possible
    assert proposal.steps == ()
    for text in texts:
        assert any(text in each.words for each in proposal.obstacles), proposal.obstacles


def test_what_is_gone_is_called_what_it_was_called_last(plant):
    with opened() as change:
        equipment.rename(change, plant.id("P"), name="P7")
    with opened() as later:
        equipment.remove(later, plant.id("P"))
    with opened() as built:
        joint = joints.join(built, plant["F.2b"], plant["S2.6"], kind="mated")
    with opened() as parted:
        joints.part(parted, joint.pk)

    obstacle(change.number, "P7 is gone since")
    obstacle(built.number, "leg 6 of S2", "B end of fibre 2 of F")


def test_a_joint_parted_since_is_named_with_its_change(plant):
    with opened() as change:
        joint = joints.join(change, plant["F.2b"], plant["P.1a"], kind="mated")
    with opened() as later:
        joints.part(later, joint.pk)

    obstacle(change.number, f"is gone since, in change {later.number} by crew on 02 Mar 2026.")
    assert propose(change.number).obstacles[0].change == later.number


def test_an_end_joined_to_something_else_since_is_named(plant):
    with opened() as change:
        joints.part(change, plant.joint("S2.3"))
    with opened() as later:
        joints.patch(later, plant["S2.3"], plant["P.1b"])

    obstacle(
        change.number, "leg 3 of S2", f"joined to something else since, in change {later.number}"
    )


def test_a_leg_booked_for_another_since_is_named(plant):
    with opened() as change:
        joints.part(change, plant.joint("S2.3"))
        bookings.release(change, plant["S2.3"])
    with opened() as later:
        bookings.book(later, plant["S2.3"], line=plant.line("3"))

    obstacle(change.number, f"since, in change {later.number} by")


def test_what_was_joined_to_a_new_thing_since_is_named(plant):
    with opened() as change:
        panel = equipment.install(change, kind="panel", place=plant.riser, name="P9")
    with opened() as later:
        port = panel.ports.get(role="back")
        joints.join(later, plant["F.2b"], port.pk, kind="mated")

    obstacle(change.number, "back 1 of P9", f"was joined since, in change {later.number}")


def test_a_name_taken_since_is_named(plant):
    with opened() as change:
        equipment.remove(change, plant.id("P"))
    with opened() as later:
        equipment.install(later, kind="panel", place=plant.riser, name="P")

    obstacle(change.number, f"took its name or serial since, in change {later.number}")


def test_an_alteration_since_is_named(plant):
    with opened() as change:
        equipment.rename(change, plant.id("P"), name="P7")
    with opened() as later:
        equipment.rename(later, plant.id("P"), name="P8")

    obstacle(change.number, "P8", f"was altered since, in change {later.number}")


def test_a_type_taken_over_since_is_no_obstacle_and_what_comes_anew_has_its_version(plant):
    with opened() as change:
        swaps.swap(change, plant.id("S2"))
    figures = [
        GivenFigure(
            bound=bound,
            wavelength_min_nm=1260,
            wavelength_max_nm=1625,
            value_db=value_db,
            source="our own test sheets",
        )
        for bound, value_db in (("least", 9.0), ("typical", 10.0), ("most", 11.0))
    ]
    with opened() as superseding:
        begun = catalogue.supersede(superseding, entry("splitter", "1:8"), figures=figures)
    with opened() as taking:
        catalogue.take_over(taking, begun.pk, trees=5)

    proposed = propose(change.number)

    obstacle(taking.number, "A new version of a type took over")
    assert proposed.obstacles == ()
    (anew,) = [step for step in proposed.steps if step.verb == "equipment.install"]
    assert anew.arguments["entry"] == begun.new_id


def test_what_was_put_into_a_new_place_since_is_named(plant):
    with opened() as change:
        flat = places.add(change, kind="flat", name="Flat 9", parent=plant.building)
    with opened() as later:
        equipment.install(later, kind="terminal", place=flat.pk, name="T9")

    obstacle(change.number, "T9", f"was put there since, in change {later.number}")


def test_a_place_retired_since_is_named(plant):
    with opened() as change:
        joints.part(change, plant.joint("D.1b"))
        joints.part(change, plant.joint("T"))
        joints.part(change, plant.joint("U.1b"))
        equipment.remove(change, plant.id("T"))
        equipment.remove(change, plant.id("U"))
        joints.part(change, plant.joint("S2.3"))
        bookings.release(change, plant["S2.3"])
    with opened() as later:
        places.retire(later, plant.flat("1"))

    obstacle(change.number, f"Flat 1 was retired since, in change {later.number}")


def test_a_cut_is_said_to_be_for_ever(plant):
    with opened() as change:
        cuts.cut(change, plant.id("F"), at_m=500, place=plant.estate, closure_name="K9")

    obstacle(change.number, "A cut cable can't be made whole again")


def test_a_reading_taken_back_is_not_put_back_under_another_name(plant):
    with opened() as change:
        readings.read(change, plant["T"], wavelength_nm=1490, level_dbm=-17)
    reverse(change.number)
    assert not Reading.objects.exists()

    obstacle(change.number + 1, "would name another person")


def test_a_void_tag_stays_void(plant):
    numbers = range(0, 32**7, 1_000_003)
    code, blank = islice(filter(None, map(candidate, numbers)), 2)
    with opened() as issued:
        tags.issue(issued, count=2, candidates=[code, blank])
    with opened() as voided:
        tags.void(voided, blank, why="torn")
    obstacle(voided.number, "a void tag stays void")
    with opened() as bound:
        tags.bind(bound, code, noun="equipment", thing=plant.id("P"))
    obstacle(issued.number, "was altered since")

    reverse(bound.number)

    obstacle(bound.number + 1, "a void tag stays void")


def test_a_line_outlives_everything(plant):
    with opened() as change:
        lines.open(change, place=plant.flat("3"))

    obstacle(change.number, "lines outlive everything")


def test_steps_that_no_longer_reverse_are_refused(plant):
    with opened() as change:
        equipment.rename(change, plant.id("P"), name="P7")
    assert [step.verb for step in reversing(change.number)] == ["equipment.rename"]
    with opened() as later:
        equipment.rename(later, plant.id("P"), name="P8")

    with pytest.raises(Refusal, match=f"can't be undone any more: P8 .* change {later.number}"):
        reversing(change.number)


def test_a_change_of_nothing_has_nothing_to_reverse(plant):
    with opened() as change:
        pass

    obstacle(change.number, "did nothing to the plant")


def test_what_is_cut_out_for_ever_leaves_nothing_to_reverse(plant):
    with opened() as change:
        line = lines.open(change, place=plant.flat("3"), outside_ref="Quibble-77")
    owner = user("owner")
    owner.is_superuser = True
    owner.save()

    with opened(actor=owner) as forgetting:
        retention.forget_outside_ref(forgetting, line.pk)

    obstacle(forgetting.number, "did nothing to the plant")


def test_a_missing_change_is_refused(db):
    with pytest.raises(Refusal, match="There is no change number"):
        propose(10**9)
