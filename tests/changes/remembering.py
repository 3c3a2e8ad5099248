"""What machines share that undo their changes and ask the record as it stood."""

from collections.abc import Callable
from typing import Any

from hypothesis import event, note
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from records.changes import OpenChange, Refusal, jobs
from records.changes import steps as planning
from records.changes.undo import Proposal, propose
from records.models import KEPT, Change
from records.queries.moment import as_it_stood
from tests.by_name import record_by_name
from tests.changes.machine import Machine, one
from tests.factories import AT, opened, user

FOR_EVER = (
    *("made whole", "name another", "stays void", "stay void", "issued", "outlive", "did nothing"),
    "No step ",
)
"""What can't be reversed, however soon."""


class Remembering(Machine):
    """A crew that takes changes back, and remembers what it saw after each."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: dict[int, Any] = {}
        self.latest: int | None = None
        self.before: Any = None

    def begin(self, data: st.DataObject) -> None:
        super().begin(data)
        self.first = latest_change()

    def make(self, do: Callable[[OpenChange], Any], **options: Any) -> Any:
        self.before = self.stands()
        refused = super().make(do, **options)
        self.latest = None if refused else latest_change()
        return refused

    def stands(self) -> Any:
        """Return by names what an undo has to bring back."""
        return record_by_name()

    def answers(self) -> Any:
        """Return what is asked of each moment; equal answers must be equal values."""
        raise NotImplementedError

    # --- Undo ----------------------------------------------------------------------------------

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
            run_steps(change, proposal.steps)
        self._is_back(proposal)
        event("undone")
        self.latest = None

    @precondition(lambda self: self.latest is not None)
    @rule()
    def undo_as_a_job(self) -> None:
        assert self.latest is not None
        proposal = propose(self.latest)
        if not proposal.is_possible:
            return
        with opened() as change:
            job = jobs.draft(change, name="undo", place=self.plant.estate, steps=proposal.steps)
        told = jobs.preview(job.pk, actor=user(), at=AT)
        assert told.clash is None
        with opened(actor=user("lead")) as change:
            jobs.approve(change, job.pk, revision=1)
        jobs.commit(job.pk, revision=1, actor=user(), at=AT)
        self._is_back(proposal)
        event("undone by a job")
        self.latest = None

    def _is_back(self, proposal: Proposal) -> None:
        """Check that all stands as before, but for the tags that the proposal says stay void."""
        now, before = self.stands(), self.before
        if any(" void" in each for each in proposal.notes):
            now, before = ({**each, "hung": None} for each in (now, before))
        assert now == before

    @rule(data=st.data())
    def undo_something_old(self, data: st.DataObject) -> None:
        """Try what is proposed for any change: steps or obstacles, and never half of them done."""
        ours = Change.objects.filter(number__gt=self.first).exclude(verb__startswith="jobs")
        number = one(data, ours, "number")
        if number is None:
            return
        proposal = propose(number)
        assert bool(proposal.steps) != bool(proposal.obstacles)
        try:
            with opened() as change:
                run_steps(change, proposal.steps)
        except Refusal as refusal:
            note(f"  -> {refusal}")
        self.latest = None

    # --- The past ------------------------------------------------------------------------------

    @invariant()
    def remember(self) -> None:
        number = latest_change()
        if number not in self.seen:
            self.seen[number] = self.answers()

    def teardown(self) -> None:
        """Ask again of every moment: what a later change did to it shows at the end as well."""
        try:
            for number, seen in self.seen.items():
                with as_it_stood(number):
                    assert self.answers() == seen
        finally:
            super().teardown()


def latest_change() -> int:
    """Return the number of the latest change."""
    return Change.objects.filter(sealed=True).latest("number").number


def kept_rows() -> dict[str, list[dict[str, Any]]]:
    """Return all rows of each kept table, without the bookkeeping that has no history."""
    return {
        str(model._meta.model_name): list(
            model._default_manager.order_by("pk").values(
                *(
                    field.attname
                    for field in model._meta.concrete_fields
                    if field.name not in twin.ignored
                )
            )
        )
        for model, twin in KEPT.items()
    }


def run_steps(change: OpenChange, steps: Any) -> None:
    """Do steps, one of which may refer to what an earlier one made."""
    made: list[Any] = []
    for number, step in enumerate(planning.checked(list(steps)), start=1):
        made.append(planning.run(change, step, number, made))
