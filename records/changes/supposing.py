"""Suppose that the first steps of a job were done, and ask on: all is rolled back afterwards."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser

from records.changes._made import Made
from records.changes._transaction import OpenChange, opened
from records.changes.previews import Clash, Trace
from records.changes.references import Reference, Thing, referable
from records.changes.steps import Step, StepMalformed, StepRefused, run


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposed:
    """The record as it would be then; `clash` is the first step that would be refused.

    What a clashing step and those after it make is not there. `new` are the things made, with the
    references by which a later step names them.
    """

    change: OpenChange
    made: list[Made]
    clash: Clash | None
    new: dict[Thing, Reference]

    def do(self, step: Step) -> None:
        """Do one step more, which later ones can refer to. Raises: StepRefused, StepMalformed."""
        before: list[Made] = [{} for _ in self.made]
        self.made.append(run(self.change, step, len(before) + 1, self.made))
        self.new.update(referable([*before, self.made[-1]], self.change.number))

    def go_on(self, step: Step) -> OpenChange:
        """Do one step more and return the change, which then tells of that step alone.

        Raises: StepRefused, StepMalformed.
        """
        change = self.change
        change.steps, change.light, change.bookings, change.warnings = [], [], [], []
        change.feeds_written, change.fed = 0, set()
        run(change, step, len(self.made) + 1, self.made)
        return change


@contextmanager
def supposed(
    steps: Sequence[Step], *, done: Sequence[Made], actor: AbstractBaseUser, at: datetime
) -> Iterator[Supposed]:
    """Do steps for real within a change that is rolled back; `done` is what recorded ones made.

    Inside, queries answer as if the steps were done. No change is left behind.
    """
    left, first_clash = list(steps), None
    while True:
        with opened(actor=actor, at=at, preview=True) as change:
            trace = Trace(made=[dict(each) for each in done], first_step=len(done) + 1)
            clash = _run(trace, change, left)
            if clash is None:
                new = referable(trace.made, change.number)
                yield Supposed(change=change, made=trace.made, clash=first_clash, new=new)
                return
        # A clash leaves half a step behind, so those before it are done once more without it.
        left, first_clash = left[: clash.step - len(done) - 1], clash


def _run(trace: Trace, change: OpenChange, steps: Sequence[Step]) -> Clash | None:
    try:
        trace.run(change, steps)
    except (StepRefused, StepMalformed) as refusal:
        return Clash.of(refusal, steps, first_step=trace.first_step)
    return None
