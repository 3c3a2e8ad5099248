"""Jobs: drafted, previewed, approved, built, recorded; never half, never twice, never unseen."""

from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model

from records.changes import Refusal, bookings, cables, jobs, joints, places, tags
from records.changes.steps import StepRefused, checked
from records.models import (
    Booking,
    Change,
    Equipment,
    Feed,
    Job,
    JobState,
    JointEnd,
    Point,
)
from records.models.tag_code import candidate
from records.queries import chain
from records.queries.invariants import broken
from tests.factories import AT, Plant, opened, user
from tests.unchanged import nothing_written, refused

PLANT = """
    olt O x2
    splitter S 1:8
    cable F 1200 m x2
    cable D 30 m
    outlet U @1
    terminal T @1
    flat 2
    flat 3
    light O.1 GPON B+
    O.1 = F.1 = S
    book S.3 for 1
    S.3 = D ~ U - T
    """


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def step(verb, **arguments):
    return {"verb": verb, "arguments": arguments, "note": ""}


def planned(steps):
    return [{name: each[name] for name in ("verb", "arguments", "note")} for each in steps]


def connect(plant, flat="2", leg="S.2"):
    """Return the steps that connect a flat: terminal, booking, cord."""
    return [
        step("equipment.install", kind="terminal", place=plant.flat(flat), name="T2"),
        step("bookings.book", leg=plant[leg], line=plant.line(flat)),
        step("joints.patch", a=plant[leg], b={"step": 1, "port": "terminal port 1"}),
    ]


def drafted(plant, steps, **told):
    with opened() as change:
        return jobs.draft(
            change, **{"name": "Connect", "place": plant.building, **told}, steps=steps
        )


def approved(plant, steps, **told):
    job = drafted(plant, steps, **told)
    jobs.preview(job.pk, actor=user(), at=AT)
    with opened(actor=user("lead")) as change:
        return jobs.approve(change, job.pk, revision=job.revision)


def committed(job, **told):
    return jobs.commit(job.pk, **{"revision": job.revision, "actor": user(), "at": AT, **told})


# --- Form of the steps -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("steps", "words", "field"),
    [
        ([("joints.weld", {})], "Step 1: 'joints.weld' is no verb", "steps.1.verb"),
        ([("tags.issue", {"count": 1})], "'tags.issue' is no verb", "steps.1.verb"),
        ([("jobs.drop", {"job": 1})], "'jobs.drop' is no verb", "steps.1.verb"),
        ([("joints.part", {"joint": 1, "why": "x"})], "takes no 'why'", "steps.1.why"),
        ([("joints.part", {})], "joints.part needs 'joint'", "steps.1.joint"),
        ([("joints.part", {"joint": "7"})], "should be a whole number, not '7'", "steps.1.joint"),
        ([("joints.part", {"joint": True})], "should be a whole number", "steps.1.joint"),
        ([("joints.part", {"joint": 2**70})], "should be a whole number", "steps.1.joint"),
        ([("bookings.bar", {"leg": 1, "why": "a\x00"})], "should be a text", "steps.1.why"),
        ([("bookings.bar", {"leg": 1, "why": "\ud800"})], "should be a text", "steps.1.why"),
        ([("bookings.measure", {"leg": 1, "loss_db": "x"})], "a number", "steps.1.loss_db"),
        ([("bookings.measure", {"leg": 1, "loss_db": 1e999})], "a number", "steps.1.loss_db"),
        (
            [
                (
                    "readings.read",
                    {
                        "point": 1,
                        "wavelength_nm": 1490,
                        "level_dbm": None,
                        "taken_at": "2026-03-02T09:30:00",
                    },
                )
            ],
            "a moment with its time zone",
            "steps.1.taken_at",
        ),
        ([("buildings.renumber", {"flats": 1, "names": ["x"]})], "a list", "steps.1.flats"),
        ([("joints.part", {"joint": {"step": 1}})], "refers to itself", "steps.1.joint"),
        (
            [("joints.part", {"joint": {"step": 2}}), ("joints.part", {"joint": 1})],
            "Step 1: 'joint' refers to step 2, which comes later",
            "steps.1.joint",
        ),
        (
            [("joints.part", {"joint": 1}), ("joints.part", {"joint": {"step": 9}})],
            "Step 2: 'joint' refers to step 9; there are 2 steps",
            "steps.2.joint",
        ),
        ([("joints.part", {"joint": {"step": 0}})], "refers to step 0", "steps.1.joint"),
        ([("joints.part", {"joint": {"port": "leg 3"}})], "neither a value nor", "steps.1.joint"),
    ],
)
def test_a_step_of_wrong_form_is_refused_with_its_number(plant, steps, words, field):
    given = [step(verb, **arguments) for verb, arguments in steps]
    with refused("step_malformed", words, field=field) as change:
        jobs.draft(change, name="x", place=plant.building, steps=given)


@pytest.mark.parametrize("given", ["x", {"verb": 1}, {"verb": "joints.part", "arguments": [1]}])
def test_what_is_no_step_is_refused(plant, given):
    with refused("step_malformed", "Step 1: ", field="steps.1") as change:
        jobs.draft(change, name="x", place=plant.building, steps=[given])


@pytest.mark.parametrize(
    ("reference", "words"),
    [
        ({"step": 1}, "it takes a point; what step 1 gives is equipment"),
        ({"step": 1, "port": "leg 3"}, "the equipment has no leg 3"),
        ({"step": 1, "port": "hole 3"}, "'hole 3' names no port"),
        ({"step": 1, "fibre": 1, "end": "A"}, "equipment has no fibre"),
        ({"step": 1, "colour": "blue"}, "a reference has no 'colour'"),
    ],
)
def test_a_reference_to_what_a_step_does_not_make_is_the_clash(plant, reference, words):
    job = drafted(
        plant,
        [
            step("equipment.install", kind="terminal", place=plant.flat("2"), name="T2"),
            step("joints.patch", a=plant["S.2"], b=reference),
        ],
    )
    told = jobs.preview(job.pk, actor=user(), at=AT)
    assert told.clash.step == 2
    assert words in told.clash.message


def test_steps_refer_to_what_earlier_ones_make(plant):
    job = approved(
        plant,
        [
            step("places.add", kind="flat", name="Flat 9", parent=plant.building),
            step("equipment.install", kind="terminal", place={"step": 1}, name="T9"),
            step(
                "cables.lay",
                name="D9",
                a_place=plant.riser,
                b_place={"step": 1},
                length_m=40,
                fibre_count=2,
                a_polish="APC",
                b_polish="APC",
            ),
            step("bookings.book", leg=plant["S.5"], line={"step": 1, "line": 1}),
            step(
                "joints.join", a=plant["S.5"], b={"step": 3, "fibre": 2, "end": "A"}, kind="mated"
            ),
            step(
                "joints.join",
                a={"step": 3, "fibre": 2, "end": "B"},
                b={"step": 2, "port": "terminal port"},
                kind="mated",
            ),
        ],
    )
    committed(job)

    port = Point.objects.get(equipment__name="T9")
    assert Feed.objects.filter(point=port, leg=plant["S.5"]).exists()


def test_a_part_of_what_a_step_makes_can_be_referred_to(plant):
    job = approved(
        plant,
        [
            step("cuts.cut", cable=plant.id("F"), at_m=500, place=plant.estate, closure_name="K"),
            step("cables.rename", cable={"step": 1, "part": "far_cable"}, name="Far"),
            step("equipment.rename", equipment={"step": 1, "part": "closure"}, name="K7"),
        ],
    )
    committed(job)

    assert Equipment.objects.filter(name="K7").exists()


# --- Draft and edit --------------------------------------------------------------------------


def test_a_draft_says_who_wrote_what(plant):
    job = drafted(plant, connect(plant), reference="R-1", due_date=AT.date(), assignee=user().pk)

    assert (job.state, job.revision, job.saved_by) == (JobState.DRAFTED, 1, user())
    assert str(job) == "R-1 Connect"
    assert Change.objects.get(verb="jobs.draft").effect["steps"][0]["words"] == (
        "drafted job R-1 Connect, 3 steps"
    )


@pytest.mark.parametrize(
    ("told", "code", "field"),
    [
        ({"name": " "}, "malformed", "name"),
        ({"reference": "R" * 61}, "malformed", "reference"),
        ({"place": 10**9}, "missing", "place"),
        ({"assignee": 10**9}, "missing", "assignee"),
    ],
)
def test_a_draft_of_wrong_form_is_refused(plant, told, code, field):
    with refused(code, field=field) as change:
        jobs.draft(change, **{"name": "x", "place": plant.building, **told})


def test_a_reference_belongs_to_one_job(plant):
    drafted(plant, [], reference="R-1")
    with refused("name_taken", "R-1 belongs to the job Connect", field="reference") as change:
        jobs.draft(change, name="x", place=plant.building, reference="R-1")


def test_the_later_of_two_saves_is_told_and_nothing_is_lost(plant):
    job = drafted(plant, [])
    with opened(actor=user("ana")) as change:
        jobs.edit(change, job.pk, revision=1, name="By Ana", place=plant.building, steps=[])

    with refused("job_saved", "By Ana was saved by ana", "revision 2", field="revision") as change:
        jobs.edit(change, job.pk, revision=1, name="By Ben", place=plant.building, steps=[])

    job.refresh_from_db()
    assert (job.name, job.revision, job.saved_by.get_username()) == ("By Ana", 2, "ana")


def test_an_edit_makes_an_approved_job_a_draft_again(plant):
    job = approved(plant, connect(plant))

    with opened() as change:
        job = jobs.edit(change, job.pk, revision=1, name="x", place=plant.building, steps=[])

    assert (job.state, job.approved_by, job.preview) == (JobState.DRAFTED, None, {})


def test_a_job_for_a_retired_building_is_refused(plant):
    with opened() as change:
        places.retire(change, plant.flat("3"))
    with refused("place_retired", "Flat 3 is retired", field="place") as change:
        jobs.draft(change, name="x", place=plant.flat("3"))


def test_a_job_whose_building_was_retired_since_goes_no_further(plant):
    job = approved(plant, connect(plant), place=plant.flat("3"))
    with opened() as change:
        places.retire(change, plant.flat("3"))

    for go_on in (lambda: jobs.preview(job.pk, actor=user(), at=AT), lambda: committed(job)):
        with nothing_written(), pytest.raises(Refusal, match="Flat 3 is retired"):
            go_on()


# --- Preview ---------------------------------------------------------------------------------


def test_a_preview_writes_nothing_but_itself(plant):
    job = drafted(plant, connect(plant))
    before = Change.objects.count(), Equipment.objects.count(), Feed.objects.count()

    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert (Change.objects.count(), Equipment.objects.count(), Feed.objects.count()) == before
    job.refresh_from_db()
    assert job.preview["fingerprint"] == told.fingerprint
    assert job.preview["based_on"] == Change.objects.latest("number").number
    assert job.revision == 1


def test_a_preview_tells_who_goes_dark_by_which_step(plant):
    job = drafted(plant, [step("joints.part", joint=plant.joint("D.1b")), *connect(plant)[:1]])
    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert [home.terminal for home in told.dark] == ["T"]
    assert told.step_of[plant["T"]] == 1
    assert told.steps[0].darkened == ("T of Alder Close, Block A, Flat 1",)
    assert told.as_json()["homes"][0] | {"before": 0} == {
        "point_id": plant["T"],
        "place_id": plant.flat("1"),
        "address": "Alder Close, Block A, Flat 1",
        "terminal": "T",
        "before": 0,
        "after": [],
        "step": 1,
        "goes_dark": True,
        "gets_light": False,
        "verdicts_change": told.dark[0].verdicts_change,
    }


def test_a_home_darkened_and_lit_again_is_no_consequence(plant):
    joint = plant.joint("F.1b")
    job = drafted(
        plant,
        [
            step("joints.part", joint=joint),
            step("joints.join", a=plant["F.1b"], b=plant["S.in"], kind="mated"),
        ],
    )
    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert told.steps[0].darkened
    assert told.steps[1].lit
    assert (told.sum.homes, told.sum.bookings) == ((), ())


def test_a_home_darkened_lit_and_darkened_again_goes_dark(plant):
    with opened(preview=True) as change:
        joints.part(change, plant.joint("F.1b"))
        joint = joints.join(change, plant["F.1b"], plant["S.in"], kind="mated")
        joints.part(change, joint.pk)

    assert change.effect()["terminals_darkened"] == [plant["T"]]


def test_a_preview_tells_shifted_levels_and_verdicts(plant):
    job = drafted(plant, [step("cables.measure", cable=plant.id("D"), fibre=1, loss_db=25.0)])

    told = jobs.preview(job.pk, actor=user(), at=AT)

    (home,) = told.shifted
    # 25 dB measured replace what a 30 m fibre was reckoned to lose, under 0.02 dB.
    shift_db = home.before[0].down.typical_dbm - home.after[0].down.typical_dbm
    assert shift_db == pytest.approx(25, abs=0.02)
    assert home.verdicts_change
    assert any("too weak" in words for words in told.sum.warnings)


def test_a_preview_tells_bookings_touched(plant):
    job = drafted(plant, connect(plant))

    told = jobs.preview(job.pk, actor=user(), at=AT)

    (shift,) = told.sum.bookings
    assert (shift.leg_before, shift.state_before, shift.state_after) == ("", "", "live")
    assert shift.leg_after.startswith("leg 2 of S")


def test_a_preview_tells_labels_that_will_be_wrong(plant):
    numbers = range(0, 32**7, 1_000_003)
    codes = [code for code in map(candidate, numbers) if code][:3]
    with opened() as change:
        tags.issue(change, count=3, candidates=codes)
        tags.bind(change, codes[0], noun="equipment", thing=plant.id("S"))
        tags.bind(change, codes[1], noun="point", thing=plant["S.5"])
        tags.bind(change, codes[2], noun="line", thing=plant.line("1"))
    job = drafted(
        plant,
        [
            step("equipment.rename", equipment=plant.id("S"), name="S9"),
            step("places.rename", place=plant.flat("1"), name="Flat 1a"),
        ],
    )
    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert {tag.code for tag in told.sum.tags} == set(codes[:2])


def test_a_preview_tells_what_a_label_hung_on_that_goes_with_its_thing(plant):
    code = next(filter(None, map(candidate, range(0, 32**7, 1_000_003))))
    with opened() as change:
        tags.issue(change, count=1, candidates=[code])
        tags.bind(change, code, noun="point", thing=plant["S.5"])
    job = drafted(plant, [step("swaps.swap", equipment=plant.id("S"))])

    (label,) = jobs.preview(job.pk, actor=user(), at=AT).sum.tags

    assert label.hangs_on.startswith("leg 5 of S")
    assert label.why.startswith("removed: S")


def test_a_preview_warns_of_a_damaged_fibre(plant):
    with opened() as change:
        cables.damage(change, plant.id("F"), fibre=2, why="crushed")
    job = drafted(plant, [step("joints.join", a=plant["O.2"], b=plant["F.2a"], kind="mated")])
    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert "Fibre 2 of F is marked as damaged: crushed" in told.sum.warnings


def test_the_first_clash_is_told_with_the_sum_of_what_comes_before_it(plant):
    job = drafted(
        plant,
        [
            step("joints.part", joint=plant.joint("D.1b")),
            step("bookings.book", leg=plant["S.3"], line=plant.line("2")),
            step("joints.part", joint=10**9),
        ],
    )
    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert (told.clash.step, told.clash.verb, told.clash.code) == (
        2,
        "bookings.book",
        "leg_booked",
    )
    assert "Leg 3 of S" in told.clash.message
    assert [report.step for report in told.steps] == [1]
    assert [home.terminal for home in told.dark] == ["T"]


def test_a_step_naming_a_missing_thing_is_the_clash(plant):
    job = drafted(plant, [step("joints.part", joint=10**9)])

    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert (told.clash.step, told.clash.code) == (1, "not_joined")


def test_no_part_of_a_clashing_step_shows_in_the_sum(plant):
    # The verb joins before light refuses, so half a step is there when it is refused.
    plant.grow("""
        terminal X @2
        """)
    job = drafted(plant, [step("joints.patch", a=plant["S.3"], b=plant["X"])])

    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert told.clash.step == 1
    assert (told.sum.homes, told.sum.bookings, told.sum.warnings) == ((), (), ())


# --- Approval --------------------------------------------------------------------------------


def test_work_is_approved_as_it_was_previewed(plant):
    job = drafted(plant, connect(plant))
    with refused("not_previewed", "not previewed", field="job", actor=user("lead")) as change:
        jobs.approve(change, job.pk, revision=1)

    jobs.preview(job.pk, actor=user(), at=AT)
    with opened(actor=user("lead")) as change:
        job = jobs.approve(change, job.pk, revision=1)

    assert (job.state, job.approved_by.get_username()) == (JobState.APPROVED, "lead")


def saved(job, person, **told):
    with opened(actor=user(person)) as change:
        known = {"name": job.name, "place": job.place_id, "steps": planned(job.steps)}
        job = jobs.edit(change, job.pk, revision=job.revision, **{**known, **told})
    jobs.preview(job.pk, actor=user(), at=AT)
    return job


def approve(job, person):
    with opened(actor=person) as change:
        return jobs.approve(change, job.pk, revision=job.revision), change.steps[-1]["words"]


def test_nobody_approves_the_steps_they_edited_last(plant):
    job = saved(drafted(plant, connect(plant)), "crew", name="Connect flat 2")
    words = "Job Connect flat 2 was planned by crew, and nobody approves their own plan."
    with refused("own_plan", words, "Ask another of the crew, or an owner", field="job") as change:
        jobs.approve(change, job.pk, revision=2)

    job = saved(job, "bea", steps=connect(plant)[:2])

    with refused("own_plan", "planned by bea", actor=user("bea")) as change:
        jobs.approve(change, job.pk, revision=3)
    job, words = approve(job, user("crew"))
    assert not job.is_approved_by_planner
    assert words == "approved job Connect flat 2, 2 steps, revision 3"


def test_who_only_saved_another_date_is_not_the_planner(plant):
    job = saved(drafted(plant, connect(plant)), "bea", due_date=AT.date())

    with refused("own_plan", "planned by crew") as change:
        jobs.approve(change, job.pk, revision=2)
    assert (job.saved_by, job.planned_by) == (user("bea"), user("crew"))
    assert approve(job, user("bea"))[0].approved_by == user("bea")


def test_an_owner_may_approve_their_own_plan_and_the_record_says_so(plant):
    owner = get_user_model().objects.create_superuser("owner")
    job = saved(drafted(plant, []), "owner", steps=connect(plant))

    job, words = approve(job, owner)

    assert job.is_approved_by_planner
    assert words.endswith("revision 2; approved by its own planner")


def test_a_job_that_clashes_is_not_approved(plant):
    job = drafted(plant, [step("joints.part", joint=10**9)])
    jobs.preview(job.pk, actor=user(), at=AT)

    clash = "Step 1 (joints.part)"
    with refused("job_clashes", clash, field="steps.1", actor=user("lead")) as change:
        jobs.approve(change, job.pk, revision=1)


def test_nothing_is_approved_that_was_saved_since_or_is_empty(plant):
    job = drafted(plant, [])
    with refused("job_saved", field="revision") as change:
        jobs.approve(change, job.pk, revision=7)
    with refused("malformed", "no steps left", field="steps") as change:
        jobs.approve(change, job.pk, revision=1)


# --- Commit ----------------------------------------------------------------------------------


def test_a_job_is_recorded_as_one_change_with_its_steps(plant):
    job = approved(plant, connect(plant), reference="R-1")

    done = committed(job)

    change = Change.objects.get(number=done.number)
    job.refresh_from_db()
    assert job.state == JobState.RECORDED
    assert change.job == job
    assert (change.verb, change.reason) == ("several", "R-1 Connect")
    assert [each["step"] for each in change.effect["steps"]] == [1, 2, 3]
    assert {each["change"] for each in job.steps} == {done.number}
    assert Booking.objects.get(leg=plant["S.2"]).state == "live"
    assert chain.first_break() is None
    assert list(broken()) == []


def test_a_repeated_commit_is_harmless(plant):
    job = approved(plant, connect(plant))
    first = committed(job)

    with nothing_written():
        again = committed(job)

    assert (again.number, again.is_repeat) == (first.number, True)


def test_a_draft_is_not_recorded(plant):
    job = drafted(plant, connect(plant))
    with nothing_written(), pytest.raises(Refusal, match="Have it approved first") as caught:
        committed(job)
    assert caught.value.code == "job_not_ready"


def test_a_built_job_that_was_emptied_is_not_recorded(plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        jobs.mark_built(change, job.pk)
    with opened() as change:
        told = {"name": "Connect", "place": plant.building, "revision": job.revision}
        job = jobs.edit(change, job.pk, **told, steps=[])
    jobs.preview(job.pk, actor=user(), at=AT)

    with nothing_written(), pytest.raises(Refusal, match="has no steps left to do"):
        committed(job)


def test_nothing_is_recorded_of_a_job_that_clashes_now(plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        bookings.book(change, plant["S.2"], line=plant.line("3"))
    before = Change.objects.count()

    with pytest.raises(StepRefused, match="Step 2") as caught:
        committed(job)

    job.refresh_from_db()
    assert caught.value.code == "step_refused"
    assert caught.value.step == 2
    assert caught.value.cause.code == "leg_booked"
    assert (job.state, job.done_count) == (JobState.APPROVED, 0)
    assert job.preview["clash"]["step"] == 2
    assert Change.objects.count() == before
    assert not Equipment.objects.filter(name="T2").exists()


def test_a_job_that_would_do_something_else_now_is_previewed_again(plant):
    job = approved(plant, [step("joints.part", joint=plant.joint("F.1b"))])
    with opened() as change:
        joints.part(change, plant.joint("D.1b"))  # so no one is left to go dark

    with pytest.raises(Refusal, match="the record was changed meanwhile") as caught:
        committed(job)
    assert caught.value.code == "preview_outdated"

    job.refresh_from_db()
    assert job.preview["homes"] == []
    assert committed(job).number


def test_a_change_elsewhere_does_not_outdate_a_preview(plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        places.add(change, kind="flat", name="Flat 77", parent=plant.building)

    assert committed(job).number


def test_a_commit_that_breaks_down_leaves_nothing(plant, monkeypatch):
    job = approved(plant, connect(plant))

    def fail(*_args):
        raise KeyboardInterrupt

    monkeypatch.setattr("records.changes._job_recording._note_done", fail)
    with nothing_written(), pytest.raises(KeyboardInterrupt):
        committed(job)


# --- Ticks -----------------------------------------------------------------------------------


def tick(job, number, **told):
    return jobs.tick(job.pk, number, **{"actor": user(), "at": AT, **told})


def test_steps_are_recorded_one_by_one_each_leaving_the_record_true(plant):
    job = approved(plant, connect(plant))

    numbers = []
    for number in (1, 2, 3):
        numbers.append(tick(job, number, at=AT + timedelta(minutes=number)).number)
        assert list(broken()) == []

    job.refresh_from_db()
    assert job.state == JobState.RECORDED
    assert [each["change"] for each in job.steps] == numbers
    assert set(job.changes.filter(number__in=numbers).values_list("verb", flat=True)) == {
        "equipment.install",
        "bookings.book",
        "joints.patch",
    }
    assert JointEnd.objects.filter(point__equipment__name="T2").exists()


def test_a_repeated_tick_is_harmless(plant):
    job = approved(plant, connect(plant))
    first = tick(job, 1)

    with nothing_written():
        again = tick(job, 1)

    assert (again.number, again.is_repeat) == (first.number, True)


def test_a_step_is_not_ticked_before_its_turn(plant):
    job = approved(plant, connect(plant))
    with nothing_written(), pytest.raises(Refusal, match="Step 3 comes after step 1") as caught:
        tick(job, 3)
    assert caught.value.code == "step_not_next"
    with nothing_written(), pytest.raises(Refusal, match="no step 4"):
        tick(job, 4)


def test_what_is_left_of_a_ticked_job_is_recorded_at_once(plant):
    job = approved(plant, connect(plant))
    ticked = tick(job, 1)
    with nothing_written(), pytest.raises(Refusal, match="not previewed as it is now"):
        committed(job)
    jobs.preview(job.pk, actor=user(), at=AT)

    done = committed(job)

    job.refresh_from_db()
    assert job.state == JobState.RECORDED
    assert [each["change"] for each in job.steps] == [ticked.number, done.number, done.number]


def test_a_recorded_step_is_not_edited_but_those_after_it_are(plant):
    job = approved(plant, connect(plant))
    tick(job, 1)
    steps = connect(plant)

    with refused("step_recorded", "Step 1 is recorded already", field="steps.1") as change:
        jobs.edit(change, job.pk, revision=1, name="x", place=plant.building, steps=steps[1:])
    with opened() as change:
        job = jobs.edit(
            change, job.pk, revision=1, name="x", place=plant.building, steps=steps[:2]
        )

    assert (len(job.steps), job.done_count) == (2, 1)


def test_the_last_steps_of_a_job_that_retires_its_own_place_can_be_ticked(plant):
    job = approved(
        plant,
        [
            step("places.retire", place=plant.flat("3")),
            step("places.rename", place=plant.flat("2"), name="Flat 2/3"),
        ],
        place=plant.flat("3"),
    )
    tick(job, 1)
    tick(job, 2)

    job.refresh_from_db()
    assert job.state == JobState.RECORDED


# --- Built, dropped ----------------------------------------------------------------------------


def test_built_is_not_recorded_until_it_is(plant):
    job = approved(plant, connect(plant))

    with opened() as change:
        jobs.mark_built(change, job.pk)
    assert list(Job.objects.built_not_recorded()) == [job]
    with refused("job_not_ready", "built, not recorded", field="job") as change:
        jobs.drop(change, job.pk, why="done")

    committed(job)
    assert not Job.objects.built_not_recorded().exists()


def test_only_approved_work_is_built(plant):
    job = drafted(plant, connect(plant))
    with refused("job_not_ready", "Have it approved first", field="job") as change:
        jobs.mark_built(change, job.pk)


def test_a_built_job_follows_what_was_built_and_shows_that_it_was_edited(plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        jobs.mark_built(change, job.pk)
        job = jobs.edit(
            change,
            job.pk,
            revision=1,
            name="x",
            place=plant.building,
            steps=connect(plant, leg="S.5"),
        )

    assert job.state == JobState.BUILT
    assert job.is_edited_since_approval
    with opened() as change:
        assert jobs.unmark_built(change, job.pk).state == JobState.DRAFTED


def test_what_was_marked_as_built_by_mistake_is_approved_again(plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        jobs.mark_built(change, job.pk)
        assert jobs.unmark_built(change, job.pk).state == JobState.APPROVED
    with refused("job_not_ready", "approved and can't be taken back", field="job") as change:
        jobs.unmark_built(change, job.pk)


def test_a_dropped_job_goes_no_further(plant):
    job = approved(plant, connect(plant))
    with opened() as change:
        jobs.drop(change, job.pk, why="not wanted")

    with refused("job_not_ready", "dropped") as change:
        jobs.edit(change, job.pk, revision=1, name="x", place=plant.building, steps=[])
    for go_on in (
        lambda: committed(job),
        lambda: tick(job, 1),
        lambda: jobs.preview(job.pk, actor=user(), at=AT),
    ):
        with nothing_written(), pytest.raises(Refusal, match="is dropped"):
            go_on()


def test_a_missing_job_is_refused(db):
    for go_on in (
        lambda: jobs.commit(10**9, revision=1, actor=user(), at=AT),
        lambda: jobs.tick(10**9, 1, actor=user(), at=AT),
        lambda: jobs.preview(10**9, actor=user(), at=AT),
    ):
        with pytest.raises(Refusal, match="There is no job number"):
            go_on()


def test_whole_buildings_can_be_previewed_before_they_are_retired(plant):
    job = drafted(plant, [step("buildings.retire", place=plant.building)])

    told = jobs.preview(job.pk, actor=user(), at=AT)

    assert [home.terminal for home in told.dark] == ["T"]
    assert told.clash is None


def test_steps_are_kept_as_plain_data(plant):
    given = connect(plant)
    assert [each.as_json() for each in checked(given)] == given
