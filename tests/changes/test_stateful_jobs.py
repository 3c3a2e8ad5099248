"""Random jobs, each from its draft to its record: nothing slips past approval and preview."""

from collections.abc import Callable
from typing import Any, TypeVar

from hypothesis import event, note
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from records.changes import Refusal, jobs, joints, tags
from records.changes.jobs import Recorded
from records.models import (
    Cable,
    Change,
    Equipment,
    Job,
    JobState,
    Joint,
    LegCondition,
    Line,
    Point,
    Role,
)
from records.models.tag_code import candidate
from tests.changes.machine import LOSSES_DB, Machine, one, run
from tests.factories import AT, opened, user
from tests.unchanged import Rows, everything

PLANT = """
    olt O
    splitter S 1:4
    terminal T @1
    flat 2
    O.1 = S
    S.1 - T
    light O.1 GPON B+
    """
BLANK = next(filter(None, map(candidate, range(10**6, 32**7))))
JOBS_MAX = 3
"""Jobs open at once: of more none would come to its end."""

CREW = ("crew", "lead", "owner")
PEOPLE = st.sampled_from(CREW)
SELDOM = st.sampled_from([False, False, False, False, True])
OPEN = (JobState.DRAFTED, JobState.APPROVED, JobState.BUILT)
WORK = (JobState.APPROVED, JobState.BUILT)

Steps = list[dict[str, Any]]
Done = TypeVar("Done")


class Desk(Machine):
    """Planners who draft, edit and approve, and a crew that builds, ticks and records.

    What a job may do next is told here by a second opinion, from its rows and what was seen of
    its previews: whether each verb is let through must be just that.
    """

    plant_text = PLANT

    def __init__(self) -> None:
        super().__init__()
        self.previewed: dict[int, Rows] = {}
        self.planners: dict[int, str] = {}
        self.recorded: dict[int, list[int]] = {}

    def begin(self, data: st.DataObject) -> None:
        type(user()).objects.filter(pk=user("owner").pk).update(is_superuser=True)
        with opened() as change:
            tags.issue(change, count=1, candidates=[BLANK])
        for who in ("crew", "lead"):
            self._draft(data, who)

    def _job(self, data: st.DataObject, *states: str) -> Job | None:
        """Return a job in one of these states if there is one; seldom, or else, any."""
        likely = Job.objects.filter(state__in=states)
        is_any = not likely or data.draw(SELDOM)
        return Job.objects.filter(pk=one(data, Job.objects.all() if is_any else likely)).first()

    def _work(self, data: st.DataObject) -> Job | None:
        """Return a job to work on; where none is approved, one is brought so far first."""
        drafts = Job.objects.filter(state=JobState.DRAFTED)
        if drafts and not Job.objects.filter(state__in=WORK):
            job = Job.objects.get(pk=one(data, drafts))
            self._preview(job)
            job.refresh_from_db()
            self._approve(job, "owner", job.revision)
        return self._job(data, *WORK)

    # --- Plans ---------------------------------------------------------------------------------

    @rule(data=st.data(), who=PEOPLE, is_late=SELDOM, goes_on=st.sampled_from([True, True, False]))
    def plan(self, data: st.DataObject, who: str, *, is_late: bool, goes_on: bool) -> None:
        """Draft a job, or edit one, which may be closed or saved by someone else since."""
        if Job.objects.open().count() < JOBS_MAX and data.draw(st.booleans()):
            self._draft(data, who)
            return
        job = self._job(data, *OPEN)
        if job is not None:
            self._edit(data, job, who, is_late=is_late, goes_on=goes_on)

    def _draft(self, data: st.DataObject, who: str) -> None:
        steps, name = self._steps(data), self.name("J")
        refused = self.make(
            lambda change: jobs.draft(
                change, name=name, place=self.plant.estate, steps=steps, reference=name
            ),
            actor=user(who),
        )
        assert not refused
        self.planners[Job.objects.latest("pk").pk] = who

    def _edit(
        self, data: st.DataObject, job: Job, who: str, *, is_late: bool, goes_on: bool
    ) -> None:
        done = job.done_count if goes_on else 0
        kept = [{each: step[each] for each in ("verb", "arguments", "note")} for step in job.steps]
        # An empty plan can't be approved and would only stand about, so there are few.
        left = [] if data.draw(SELDOM) else self._steps(data, first=done + 1)
        steps, name = kept[:done] + left, self.name("J")
        refused = self.make(
            lambda change: jobs.edit(
                change,
                job.pk,
                revision=job.revision - is_late,
                name=name,
                place=self.plant.estate,
                steps=steps,
            ),
            actor=user(who),
        )
        keeps_what_is_done = steps[: job.done_count] == kept[: job.done_count]
        assert (not refused) == (job.state in OPEN and not is_late and keeps_what_is_done)
        if not refused:
            if left != kept[done:]:
                self.planners[job.pk] = who
            self.previewed.pop(job.pk, None)
            self._is_now(job, JobState.BUILT if job.state == "built" else JobState.DRAFTED)

    def _steps(self, data: st.DataObject, first: int = 1) -> Steps:
        steps: Steps = []
        for _ in range(data.draw(st.integers(1, 2))):
            steps += self._works(data, first + len(steps))
        return steps

    def _works(self, data: st.DataObject, number: int) -> Steps:
        """Return one or two steps that can be done now, or could be until an earlier one."""
        leg = one(data, Point.objects.filter(role=Role.LEG, condition=LegCondition.SPARE))
        barred = one(data, Point.objects.filter(condition=LegCondition.BARRED))
        joint = one(data, Joint.objects.all())
        thing, cable = one(data, Equipment.objects.all()), one(data, Cable.objects.all())
        name, flat = self.name("N"), self.plant.flat("2")
        line = one(data, Line.objects.all())
        install = _step("equipment.install", kind="terminal", place=flat, name=name)
        works = [
            [_step("equipment.rename", equipment=thing, name=name)],
            [_step("lines.open", place=flat)],
            [_step("tags.bind", code=BLANK, noun="place", thing=flat)],
            *([[_step("bookings.bar", leg=leg, why="dirty")]] if leg else []),
            *([[_step("bookings.book", leg=leg, line=line)]] if leg else []),
            *(
                [
                    [
                        install,
                        _step(
                            "joints.patch", a=leg, b={"step": number, "port": "terminal port 1"}
                        ),
                    ]
                ]
                * bool(leg)
            ),
            *([[_step("bookings.unbar", leg=barred)]] if barred else []),
            *([[_step("joints.part", joint=joint)]] if joint else []),
            *([[_step("cables.rename", cable=cable, name=name)]] if cable else []),
        ]
        return data.draw(st.sampled_from(works))

    # --- Approval and site ---------------------------------------------------------------------

    @rule(data=st.data(), who=PEOPLE, is_late=SELDOM, is_looked_at=st.booleans())
    def approve(self, data: st.DataObject, who: str, *, is_late: bool, is_looked_at: bool) -> None:
        job = self._job(data, JobState.DRAFTED)
        if job is None:
            return
        if is_looked_at:
            self._preview(job)
            job.refresh_from_db()
        self._approve(job, who, job.revision - is_late)

    def _approve(self, job: Job, who: str, revision: int) -> None:
        refused = self.make(
            lambda change: jobs.approve(change, job.pk, revision=revision), actor=user(who)
        )
        is_second_look = who == "owner" or who != self.planners[job.pk]
        is_ready = job.state == JobState.DRAFTED and self._is_previewed(job)
        is_ready &= revision == job.revision
        assert (not refused) == (is_ready and is_second_look and len(job.steps) > job.done_count)
        if not refused:
            self._is_now(job, JobState.APPROVED)

    def _is_previewed(self, job: Job) -> bool:
        return job.pk in self.previewed and job.preview["clash"] is None

    @rule(
        data=st.data(), what=st.sampled_from(["built", "built", "not built", "not built", "drop"])
    )
    def on_site(self, data: st.DataObject, what: str) -> None:
        job = self._job(data, *OPEN) if what == "drop" else self._work(data)
        if job is None:
            return
        do: Callable[..., Any]
        if what == "built":
            do, is_ready, then = jobs.mark_built, job.state == JobState.APPROVED, JobState.BUILT
        elif what == "not built":
            as_agreed = job.approved_revision == job.revision
            do, is_ready = jobs.unmark_built, job.state == JobState.BUILT
            then = JobState.APPROVED if as_agreed else JobState.DRAFTED
        else:
            do, is_ready = jobs.drop, job.state in {JobState.DRAFTED, JobState.APPROVED}
            then = JobState.DROPPED
        why = {"why": "not wanted"} if what == "drop" else {}
        refused = self.make(lambda change: do(change, job.pk, **why))
        assert (not refused) == is_ready
        if not refused:
            self._is_now(job, then)

    @staticmethod
    def _is_now(job: Job, state: str) -> None:
        assert Job.objects.get(pk=job.pk).state == state

    # --- Preview and record --------------------------------------------------------------------

    @rule(data=st.data())
    def preview(self, data: st.DataObject) -> None:
        job = self._job(data, *OPEN)
        if job is not None:
            self._preview(job)

    def _preview(self, job: Job) -> None:
        before = _beside_jobs()
        refused, told = _tried(lambda: jobs.preview(job.pk, actor=user(), at=AT))
        assert _beside_jobs() == before
        assert (not refused) == (job.state in OPEN)
        if told:
            note(f"  clash: {told.clash}")
            self.previewed[job.pk] = before

    @rule(data=st.data(), is_late=SELDOM, ahead=st.sampled_from([0, 0, 0, 1, -1]))
    def record(self, data: st.DataObject, *, is_late: bool, ahead: int) -> None:
        """Commit a job, or tick one of its steps."""
        job = self._work(data)
        if data.draw(st.booleans()):
            self._meddle(data, data.draw(LOSSES_DB), is_parted=data.draw(SELDOM))
        if job is not None and data.draw(st.booleans()):
            self._commit(job, is_late=is_late)
        elif job is not None and job.steps:
            self._tick(job, ahead)

    def _commit(self, job: Job, *, is_late: bool) -> None:
        before, was_clean = _beside_jobs(), self._is_previewed(job)
        seen = self.previewed.get(job.pk, {})
        is_as_previewed = was_clean and _plant_only(seen) == _plant_only(before)
        refused, done = _tried(
            lambda: jobs.commit(job.pk, revision=job.revision - is_late, actor=user(), at=AT)
        )
        if job.state == JobState.RECORDED:
            self._repeats(job, job.steps[-1]["change"], done, before)
            return
        if refused:
            assert _beside_jobs() == before
            overtaken = {"preview_outdated", "step_refused"}
            is_ready = job.state in WORK and was_clean and not is_late and bool(job.steps)
            assert refused not in overtaken if not is_ready else refused in overtaken
            assert not (is_ready and is_as_previewed)
            if refused in overtaken:  # it is previewed anew
                self.previewed[job.pk] = before
            return
        assert done
        assert job.steps
        assert job.state in WORK
        assert was_clean
        assert not is_late
        assert done.preview
        assert done.preview.fingerprint == job.preview["fingerprint"]
        self._records(job, done, len(job.steps) - job.done_count)
        self._is_now(job, JobState.RECORDED)
        event("committed")

    def _tick(self, job: Job, ahead: int) -> None:
        number, before = job.done_count + 1 + ahead, _beside_jobs()
        refused, done = _tried(lambda: jobs.tick(job.pk, number, actor=user(), at=AT))
        if 1 <= number <= job.done_count:
            self._repeats(job, job.steps[number - 1]["change"], done, before)
            return
        may = job.state in WORK and ahead == 0 and number <= len(job.steps)
        if refused:
            assert _beside_jobs() == before
            assert not may or refused == "step_refused"
            return
        assert may
        assert done
        self._records(job, done, 1)
        self.previewed.pop(job.pk, None)
        is_all = number == len(job.steps)
        self._is_now(job, JobState.RECORDED if is_all else job.state)
        event("ticked")

    def _records(self, job: Job, done: Recorded, count: int) -> None:
        change = Change.objects.get(number=done.number)
        assert (change.job_id, len(change.effect["steps"])) == (job.pk, count)
        self.recorded.setdefault(job.pk, []).extend([done.number] * count)

    @staticmethod
    def _repeats(job: Job, number: int, done: Recorded | None, before: Rows) -> None:
        assert done
        assert (done.is_repeat, done.number) == (True, number), job
        assert _beside_jobs() == before

    # --- What happens meanwhile ----------------------------------------------------------------

    @precondition(lambda self: self.previewed)
    @rule(data=st.data(), loss_db=LOSSES_DB, is_parted=st.booleans())
    def meanwhile(self, data: st.DataObject, loss_db: float, *, is_parted: bool) -> None:
        """Let others alter what jobs rely on."""
        self._meddle(data, loss_db, is_parted=is_parted)

    def _meddle(self, data: st.DataObject, loss_db: float, *, is_parted: bool) -> None:
        joint = one(data, Joint.objects.all())
        if joint and is_parted:
            self.make(lambda change: joints.part(change, joint))
        elif joint:
            self.make(lambda change: joints.measure(change, joint, loss_db=loss_db))

    # --- Laws ----------------------------------------------------------------------------------

    @invariant()
    def what_is_recorded_stays_so(self) -> None:
        for job in Job.objects.all():
            numbers = [step["change"] for step in job.steps if "change" in step]
            assert numbers == self.recorded.get(job.pk, [])
            assert job.is_open or job.state == JobState.DROPPED or len(numbers) == len(job.steps)
            assert "change" not in job.steps[job.done_count :]


def _step(verb: str, **arguments: Any) -> dict[str, Any]:
    return {"verb": verb, "arguments": arguments, "note": ""}


def _tried(do: Callable[[], Done]) -> tuple[str, Done | None]:
    try:
        done = do()
    except Refusal as refusal:
        note(f"  -> {refusal.code}: {refusal}")
        return refusal.code, None
    return "", done


def _beside_jobs() -> Rows:
    """Return all rows but those of jobs, which keep their latest preview."""
    rows = everything()
    del rows[Job._meta.db_table]
    return rows


def _plant_only(rows: Rows) -> Rows:
    """Return rows without changes: an approval is one that alters nothing else."""
    return {table: listed for table, listed in rows.items() if table != Change._meta.db_table}


def test_random_jobs_are_recorded_as_agreed_or_not_at_all(db):
    run(Desk, examples=15)
