"""Run a job's steps within an open change and report what they do, step by step and in sum."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder

from records.changes import steps as planned
from records.changes._made import Made
from records.changes._transaction import OpenChange
from records.changes.steps import Step, StepMalformed, StepRefused
from records.models import Change
from records.queries.consequences import Consequences, HomeShift, consequences, named_homes
from records.queries.light_turns import LightTurns, light_turns


@dataclass(frozen=True, slots=True, kw_only=True)
class StepReport:
    """What one step did, in words; homes are named, terminal by terminal.

    Those `on_standby` or `kept_lit` lost a channel, and its standby or another lights them; those
    `interrupted` are dark only while the step is done.
    """

    step: int
    verb: str
    words: str
    note: str
    lit: tuple[str, ...]
    darkened: tuple[str, ...]
    on_standby: tuple[str, ...]
    kept_lit: tuple[str, ...]
    interrupted: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """The first step that would be refused, and the words of its refusal."""

    step: int
    verb: str
    code: str
    message: str
    hint: str
    field: str

    @classmethod
    def of(
        cls, refusal: StepRefused | StepMalformed, steps: Sequence[Step], *, first_step: int
    ) -> "Clash":
        """Return the clash that a refusal tells of; `steps` begin with `first_step`."""
        cause = refusal.cause if isinstance(refusal, StepRefused) else refusal
        return cls(
            step=refusal.step,
            verb=steps[refusal.step - first_step].verb,
            code=cause.code,
            message=cause.message,
            hint=cause.hint,
            field=cause.field,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What a job would do, as of change `based_on`, from its step `first_step` on.

    With a clash, the rest tells what the steps before it would do. `step_of` says by terminal
    which step has the last word on its light.
    """

    revision: int
    first_step: int
    based_on: int
    at: datetime
    steps: tuple[StepReport, ...]
    clash: Clash | None
    sum: Consequences
    step_of: dict[int, int]

    @property
    def dark(self) -> list[HomeShift]:
        """Return the homes that go dark."""
        return [home for home in self.sum.homes if home.goes_dark]

    @property
    def lit(self) -> list[HomeShift]:
        """Return the homes that get light."""
        return [home for home in self.sum.homes if home.gets_light]

    @property
    def shifted(self) -> list[HomeShift]:
        """Return the homes that keep light at other levels."""
        return [home for home in self.sum.homes if home.before and home.after]

    @property
    def fingerprint(self) -> str:
        """Return a digest of what the job does to homes, bookings and labels, by their names.

        Numbers of things yet to be made differ from one run to the next, so they are left out.
        """
        told = asdict(self.sum)
        for home in told["homes"]:
            del home["point_id"], home["place_id"]
        return hashlib.sha256(_plain(told).encode()).hexdigest()

    def as_json(self) -> dict[str, Any]:
        """Return the report as a job keeps it, each home with the step that shifts it."""
        told: dict[str, Any] = json.loads(_plain(asdict(self)))
        del told["step_of"]
        homes = told["sum"].pop("homes")
        for home, shift in zip(homes, self.sum.homes, strict=True):
            home |= {
                "step": self.step_of.get(shift.point_id),
                "goes_dark": shift.goes_dark,
                "gets_light": shift.gets_light,
                "verdicts_change": shift.verdicts_change,
            }
        return {**told, "homes": homes, "fingerprint": self.fingerprint}


def _plain(told: dict[str, Any]) -> str:
    return json.dumps(told, cls=DjangoJSONEncoder, sort_keys=True)


@dataclass
class Trace:
    """What steps did while they ran: what each made, said and shifted."""

    made: list[Made]
    first_step: int
    _seen: list[tuple[int, Step, str, tuple[str, ...]]] = field(default_factory=list)
    _turns: dict[int, LightTurns] = field(default_factory=dict)
    step_of: dict[int, int] = field(default_factory=dict)

    def run(self, change: OpenChange, steps: Sequence[Step]) -> None:
        """Do steps one after the other. Raises: StepRefused, StepMalformed."""
        for number, step in enumerate(steps, start=self.first_step):
            fed_before, change.fed = change.fed, set()
            events, warnings = len(change.light), len(change.warnings)
            self.made.append(planned.run(change, step, number, self.made))
            words = str(change.steps[-1]["words"])
            self._seen.append((number, step, words, tuple(change.warnings[warnings:])))
            self._turns[number] = light_turns(change.light[events:])
            self.step_of.update(dict.fromkeys(change.fed, number))
            change.fed |= fed_before

    def reports(self, change: OpenChange) -> tuple[StepReport, ...]:
        """Return what each step did, with the homes by name: a swapped terminal by its new one."""
        told = [asdict(turns) for turns in self._turns.values()]
        terminals = {each for turns in told for listed in turns.values() for each in listed}
        names = named_homes(change.number, terminals, heirs=change.heirs)
        return tuple(
            StepReport(
                step=number,
                verb=step.verb,
                words=words,
                note=step.note,
                warnings=warnings,
                **{what: tuple(names[each] for each in listed) for what, listed in turns.items()},
            )
            for (number, step, words, warnings), turns in zip(self._seen, told, strict=True)
        )


def report(
    change: OpenChange, trace: Trace, *, revision: int, clash: Clash | None = None
) -> Preview:
    """Return what was done so far in an open change by the steps of a job."""
    return Preview(
        revision=revision,
        first_step=trace.first_step,
        based_on=latest_before(change.number),
        at=change.at,
        steps=trace.reports(change),
        clash=clash,
        sum=consequences_of(change),
        step_of=trace.step_of,
    )


def consequences_of(change: OpenChange) -> Consequences:
    """Return what was done so far in an open change, with the warnings of its verbs in front."""
    told = consequences(change.number, fed=change.fed, heirs=change.heirs)
    warnings = dict.fromkeys((*change.warnings, *told.warnings))
    return replace(told, warnings=tuple(warnings))


def latest_before(number: int) -> int:
    """Return the number of the change before one, 0 before the first."""
    earlier = Change.objects.filter(number__lt=number).order_by("-number")
    return earlier.values_list("number", flat=True).first() or 0
