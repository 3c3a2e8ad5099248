"""Steps: a verb with its arguments as plain data, so that work can be planned before it is done.

A step is `{"verb": "joints.join", "arguments": {"a": 12, "b": {"step": 1, "port": "leg 3"}},
"note": "..."}`. Where an argument names a thing, it is an id or refers to what an earlier step
makes:

    {"step": 1}                              the very thing: a place, equipment, cable, line, ...
    {"step": 1, "port": "leg 3"}             a port of the equipment it makes
    {"step": 2, "fibre": 4, "end": "A"}      a fibre's end of the cable it makes
    {"step": 3, "line": 1}                   the first line of the dwelling it makes
    {"step": 4, "part": "far_cable", ...}    one of several things it makes, and what of it

`checked` says whether steps are well formed without asking the record; `run` does one.
"""

import types
import typing
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal, InvalidOperation
from functools import cache
from inspect import Parameter, signature, unwrap
from math import isfinite
from typing import Any

from records.changes._made import Made, made_of, resolved
from records.changes._transaction import VERBS, OpenChange
from records.changes.references import noun_needed, within
from records.changes.refusals import Refusal

STEPS_MAX = 1000
"""Steps of one job; more is a project, to be cut into jobs that can each be done or not."""

_ID_MAX = 2**63 - 1
_NOT_PLANNED = ("readings.read_all", "tags.bind_all", "tags.issue")
_NOT_PLANT = ("catalogue", "hazards", "jobs", "label_rules", "prints", "retention")


class StepMalformed(Refusal):
    """A step that can't be read, or that refers to what is not there yet."""

    code = "step_malformed"
    status = 422

    def __init__(self, number: int, message: str, *, hint: str, field: str = "") -> None:
        """Say which step, counted from 1, and what is wrong with it."""
        super().__init__(f"Step {number}: {message}", hint=hint, field=_path(number, field))
        self.step = number


class StepRefused(Refusal):
    """A step whose verb was refused. `cause` is the verb's own refusal."""

    code = "step_refused"

    def __init__(self, number: int, step: "Step", cause: Refusal) -> None:
        """Say which step, counted from 1, was refused, in the words of the verb."""
        super().__init__(
            f"Step {number} ({step.verb}) clashes: {cause.message}",
            hint=cause.hint,
            field=_path(number, cause.field),
            subjects=cause.subjects,
        )
        self.step = number
        self.cause = cause


def _path(number: int, argument: str) -> str:
    return f"steps.{number}.{argument}" if argument else f"steps.{number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One planned deed: a verb by name, its arguments, and a note for whoever does it."""

    verb: str
    arguments: dict[str, Any] = field(default_factory=dict)
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return the step as a job keeps it."""
        return {"verb": self.verb, "arguments": self.arguments, "note": self.note}


def plannable() -> list[str]:
    """Return the names of the verbs that a step can have."""
    return sorted(
        name
        for name in VERBS
        if name not in _NOT_PLANNED and name.partition(".")[0] not in _NOT_PLANT
    )


@cache
def parameters(verb: str) -> dict[str, Parameter]:
    """Return the arguments of a verb, with their types resolved, the change left out."""
    function = unwrap(VERBS[verb])
    hints = typing.get_type_hints(function)
    _change, *listed = signature(function).parameters.values()
    return {each.name: each.replace(annotation=hints[each.name]) for each in listed}


def checked(steps: Sequence[Step | Mapping[str, Any]]) -> list[Step]:
    """Return steps that are well formed, each referring to earlier ones only.

    Raises: StepMalformed with the number of the first one that is not.
    """
    if len(steps) > STEPS_MAX:
        raise StepMalformed(
            STEPS_MAX + 1, f"a job has at most {STEPS_MAX} steps.", hint="Cut it into several."
        )
    found: list[Step] = []
    for number, given in enumerate(steps, start=1):
        step = given if isinstance(given, Step) else _read(number, given)
        _check_verb(number, step)
        for name, value in step.arguments.items():
            for reference in within(value):
                _check_reference(number, len(steps), name, reference)
        arguments(step, number)
        found.append(step)
    return found


def _read(number: int, given: Any) -> Step:
    if not isinstance(given, Mapping):
        raise StepMalformed(number, "it is no step.", hint="Give a verb and its arguments.")
    verb, named, note = given.get("verb"), given.get("arguments", {}), given.get("note", "")
    if not isinstance(verb, str) or not isinstance(named, Mapping) or not isinstance(note, str):
        raise StepMalformed(
            number,
            "its verb, arguments or note are not of their form.",
            hint="Give the verb as text, the arguments by name, the note as text.",
        )
    note = " ".join(note.split())
    try:
        _text(note)
    except ValueError as error:
        raise StepMalformed(
            number, "its note can't be stored.", hint="Write it anew.", field="note"
        ) from error
    return Step(verb=verb, arguments=dict(named), note=note)


def _check_verb(number: int, step: Step) -> None:
    if step.verb not in plannable():
        raise StepMalformed(
            number,
            f"'{step.verb}' is no verb that a job can have.",
            hint=f"Use one of: {', '.join(plannable())}.",
            field="verb",
        )
    known = parameters(step.verb)
    for name in step.arguments:
        if name not in known:
            raise StepMalformed(
                number,
                f"{step.verb} takes no '{name}'.",
                hint=f"It takes: {', '.join(known)}.",
                field=str(name),
            )
    for name, each in known.items():
        if each.default is Parameter.empty and name not in step.arguments:
            raise StepMalformed(
                number, f"{step.verb} needs '{name}'.", hint="Give it.", field=name
            )


def _check_reference(number: int, count: int, name: str, reference: dict[str, Any]) -> None:
    other = reference.get("step")
    if type(other) is not int:
        raise StepMalformed(
            number,
            f"'{name}' is neither a value nor a reference to a step.",
            hint='Refer to an earlier step as {"step": 1}.',
            field=name,
        )
    if 1 <= other < number:
        return
    if other == number:
        clash = "itself"
    elif number < other <= count:
        clash = f"step {other}, which comes later"
    else:
        clash = f"step {other}; there are {count} steps"
    raise StepMalformed(
        number,
        f"'{name}' refers to {clash}.",
        hint="A step can refer only to those before it. Put them in the order of the work.",
        field=name,
    )


def arguments(step: Step, number: int, made: Sequence[Made] | None = None) -> dict[str, Any]:
    """Return a step's arguments as its verb takes them.

    With `made`, what earlier steps made, references become ids; without, they stay as they are.
    Raises: StepMalformed.
    """
    known = parameters(step.verb)
    return {
        name: _Reader(step, number, name, made).read(value, known[name].annotation)
        for name, value in step.arguments.items()
    }


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one argument of one step."""

    step: Step
    number: int
    name: str
    made: Sequence[Made] | None

    def read(self, value: Any, wanted: Any) -> Any:
        """Return a value as the type wanted. Raises: StepMalformed."""
        if typing.get_origin(wanted) in {typing.Union, types.UnionType}:
            if value is None:
                return None
            wanted = next(each for each in typing.get_args(wanted) if each is not type(None))
        if isinstance(value, Mapping):
            return self._refer(value)
        if typing.get_origin(wanted) is not None:
            return self._read_all(value, typing.get_args(wanted)[0])
        return self._read_plain(value, wanted)

    def _refer(self, reference: Mapping[str, Any]) -> Any:
        if self.made is None:
            return dict(reference)
        needed = noun_needed(self.name, self.step.arguments)
        try:
            return resolved(reference, self.made, needed)
        except ValueError as error:
            raise StepMalformed(
                self.number,
                f"'{self.name}': {error}",
                hint="Say which thing of that step is meant.",
                field=self.name,
            ) from error

    def _read_all(self, value: Any, wanted: Any) -> list[Any]:
        if not isinstance(value, list | tuple):
            raise self._not("a list", value)
        return [self.read(each, wanted) for each in value]

    def _read_plain(self, value: Any, wanted: Any) -> Any:
        reader = _PLAIN.get(wanted)
        if reader is None:
            raise TypeError(f"{self.step.verb} takes a {wanted}, which no step can carry.")
        words, read = reader
        try:
            return read(value)
        except (TypeError, ValueError, InvalidOperation) as error:
            raise self._not(words, value) from error

    def _not(self, words: str, value: Any) -> StepMalformed:
        return StepMalformed(
            self.number,
            f"'{self.name}' should be {words}, not {str(value)[:60]!r}.",
            hint="Correct it.",
            field=self.name,
        )


def _whole(value: Any) -> int:
    if type(value) is not int or abs(value) > _ID_MAX:
        raise ValueError
    return value


def _number(value: Any) -> float:
    if isinstance(value, bool | str) or not isfinite(value):
        raise ValueError
    return float(value)


def _text(value: Any) -> str:
    if not isinstance(value, str) or "\x00" in value:
        raise ValueError
    value.encode()  # half a character can't be stored
    return value


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError
    return value


def _moment(value: Any) -> datetime:
    moment = value if isinstance(value, datetime) else datetime.fromisoformat(_text(value))
    if moment.tzinfo is None:
        raise ValueError
    return moment


_PLAIN: dict[Any, tuple[str, typing.Callable[[Any], Any]]] = {
    int: ("a whole number", _whole),
    float: ("a number", _number),
    str: ("a text", _text),
    bool: ("true or false", _truth),
    Decimal: ("a number", lambda value: Decimal(str(_number(float(value))))),
    datetime: ("a moment with its time zone, such as 2026-03-02T09:30:00Z", _moment),
}


def run(change: OpenChange, step: Step, number: int, made: Sequence[Made]) -> Made:
    """Do one step within a change and return what it made. Raises: StepRefused, StepMalformed."""
    _check_verb(number, step)
    taken = arguments(step, number, made)
    try:
        result = VERBS[step.verb](change, **taken)
    except Refusal as refusal:
        raise StepRefused(number, step, refusal) from refusal
    change.steps[-1]["step"] = number
    return made_of(result)
