"""Random changes, compound ones and jobs too: each undone or told why not, each past kept."""

from collections.abc import Callable
from typing import Any

from hypothesis import Phase, event, note, settings
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule, run_state_machine_as_test

from records.changes import (
    OpenChange,
    Refusal,
    bookings,
    buildings,
    cable_works,
    cuts,
    jobs,
    swaps,
)
from records.changes import steps as planning
from records.changes.undo import propose
from records.models import Booking, Cable, Change, Equipment, Place, Point, Role
from records.queries.below import below
from records.queries.buildings import building
from records.queries.find import find
from records.queries.legs import leg_counts_in
from records.queries.moment import as_it_stood
from records.queries.paths import paths
from tests.by_name import record_by_name
from tests.changes.test_stateful import LENGTHS_M, SPLITTERS, Crew, _one
from tests.factories import AT, entry, opened, user

FOR_EVER = (
    *("made whole", "name another", "stays void", "stay void", "issued", "outlive", "did nothing"),
    "No step ",
)
"""What can't be reversed, however soon."""


class Planner(Crew):
    """A crew that also swaps, cuts, undoes and plans, and remembers what it saw."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: dict[int, Any] = {}
        self.latest: int | None = None
        self.before: Any = None

    def make(self, do: Callable[[OpenChange], Any]) -> None:
        self.before = record_by_name()
        count = Change.objects.count()
        super().make(do)
        is_committed = Change.objects.count() > count
        self.latest = _latest() if is_committed else None

    def _outcome(self, do: Callable[[OpenChange], Any], *, preview: bool) -> Any:
        told = super()._outcome(do, preview=preview)
        if not isinstance(told, str):  # a new thing's legs get other ids when it is made for good
            told["bookings"] = sorted(f"{e.get('line')} {e['what']}" for e in told["bookings"])
        return told

    # --- Works -------------------------------------------------------------------------------

    @rule(data=st.data())
    def move_flat(self, data: st.DataObject) -> None:
        leg = _one(data, Booking.objects.open().order_by("leg_id"), "leg_id")
        to = _one(data, Point.objects.filter(role=Role.LEG))
        if leg and to:
            self.make(lambda change: bookings.move(change, leg, to=to))

    @rule(data=st.data(), what=SPLITTERS)
    def swap(self, data: st.DataObject, what: tuple[str, str, str]) -> None:
        swappable = Equipment.objects.exclude(kind="olt")  # the plant finds its OLT by id
        old = swappable.filter(pk=_one(data, swappable)).first()
        if old:
            entry_id = entry(*what[1:]) if old.kind == "splitter" else None
            self.make(lambda change: swaps.swap(change, old.pk, entry=entry_id))

    @rule(data=st.data(), length_m=LENGTHS_M)
    def reroute(self, data: st.DataObject, length_m: float) -> None:
        cable = _one(data, Cable.objects.all())
        if cable:
            self.make(lambda change: cable_works.reroute(change, cable, length_m=length_m))

    @rule(data=st.data(), length_m=LENGTHS_M, count=st.integers(1, 3))
    def swap_cable(self, data: st.DataObject, length_m: float, count: int) -> None:
        cable = _one(data, Cable.objects.all())
        if cable:
            self.make(
                lambda change: cable_works.swap(
                    change, cable, length_m=length_m, fibre_count=count
                )
            )

    @rule(data=st.data(), at_m=LENGTHS_M)
    def cut(self, data: st.DataObject, at_m: float) -> None:
        cable = _one(data, Cable.objects.all())
        name = self.name("K")
        if cable:
            self.make(
                lambda change: cuts.cut(
                    change, cable, at_m=at_m, place=self.plant.riser, closure_name=name
                )
            )

    @rule(flats=st.permutations("123"))
    def renumber(self, flats: list[str]) -> None:
        pks = [self.plant.flat(each) for each in "123"]
        names = [f"Flat {each}" for each in flats]
        self.make(lambda change: buildings.renumber(change, flats=pks, names=names))

    @rule(data=st.data())
    def retire_with_all(self, data: st.DataObject) -> None:
        place = _one(data, Place.objects.filter(depth__gte=3))
        self.make(lambda change: buildings.retire(change, place))

    # --- Undo and jobs -----------------------------------------------------------------------

    @precondition(lambda self: self.latest is not None)
    @rule()
    def undo(self) -> None:
        assert self.latest is not None
        proposal = propose(self.latest)
        note(f"  undo: {proposal}")
        if not proposal.is_possible:
            assert all(
                any(each in found.words for each in FOR_EVER) for found in proposal.obstacles
            )
            return
        with opened() as change:
            _run(change, proposal.steps)
        assert record_by_name() == self.before
        event("undone")
        self.latest = None

    @precondition(lambda self: self.latest is not None)
    @rule()
    def undo_as_a_job(self) -> None:
        assert self.latest is not None
        steps = propose(self.latest).steps
        if not steps:
            return
        with opened() as change:
            job = jobs.draft(change, name="undo", place=self.plant.estate, steps=steps)
        told = jobs.preview(job.pk, actor=user(), at=AT)
        assert told.clash is None
        with opened(actor=user("lead")) as change:
            jobs.approve(change, job.pk, revision=1)
        jobs.commit(job.pk, revision=1, actor=user(), at=AT)
        assert record_by_name() == self.before
        event("undone by a job")
        self.latest = None

    @rule(data=st.data())
    def undo_something_old(self, data: st.DataObject) -> None:
        """Try what is proposed for any change: steps or obstacles, and never half of them done."""
        number = _one(data, Change.objects.exclude(verb__startswith="jobs"), "number")
        proposal = propose(number)
        assert bool(proposal.steps) != bool(proposal.obstacles)
        try:
            with opened() as change:
                _run(change, proposal.steps)
        except Refusal as refusal:
            note(f"  -> {refusal}")
        self.latest = None

    # --- The past ----------------------------------------------------------------------------

    @invariant()
    def remember(self) -> None:
        number = _latest()
        if number not in self.seen:
            self.seen[number] = _answers(self.plant)

    @invariant()
    def the_past_is_as_it_was_seen(self) -> None:
        for number in sorted(self.seen)[-8::3]:
            with as_it_stood(number):
                assert _answers(self.plant) == self.seen[number]

    def teardown(self) -> None:
        try:
            for number, seen in self.seen.items():
                with as_it_stood(number):
                    assert _answers(self.plant) == seen
        finally:
            super().teardown()


def _latest() -> int:
    return Change.objects.filter(sealed=True).latest("number").number


def _run(change: OpenChange, steps: Any) -> None:
    made: list[Any] = []
    for number, step in enumerate(planning.checked(list(steps)), start=1):
        made.append(planning.run(change, step, number, made))


def _answers(plant: Any) -> Any:
    """Return what the queries say of the whole small plant."""
    block = Place.objects.get(pk=plant.building)
    points = list(Point.objects.order_by("pk").values_list("pk", flat=True))
    return (
        record_by_name(),
        [paths(point) for point in points],
        below(points),
        building(block),
        leg_counts_in(block),
        [find(words) for words in ("flat 1", "block a", "s leg 3", "alder", "court")],
    )


def test_random_works_are_undone_and_the_past_stays(db):
    # Each step asks the whole plant again for several moments, so there are fewer examples.
    fewer = settings(
        max_examples=min(settings.default.max_examples // 3, 12),
        phases=[each for each in Phase if each is not Phase.explain],
    )
    run_state_machine_as_test(Planner, settings=fewer)
