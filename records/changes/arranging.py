"""Steps put in, moved and taken out of a draft, so that each still refers to what it meant."""

from collections.abc import Mapping, Sequence
from typing import Any

from records.changes import references
from records.changes.steps import StepMalformed

Planned = Mapping[str, Any]
"""A step as a job keeps it."""


def inserted(steps: Sequence[Planned], step: Planned, at: int) -> list[dict[str, Any]]:
    """Return the steps with one more, which gets the number `at`; it refers as it stands there."""
    at = max(1, min(at, len(steps) + 1))
    shifted = _arranged(steps, {n: n if n < at else n + 1 for n in range(1, len(steps) + 1)})
    return [*shifted[: at - 1], dict(step), *shifted[at - 1 :]]


def replaced(steps: Sequence[Planned], step: Planned, number: int) -> list[dict[str, Any]]:
    """Return the steps with another in the place of one; behind them if there is no such one."""
    if number > len(steps):
        return inserted(steps, step, number)
    return [dict(step if at == number else each) for at, each in enumerate(steps, start=1)]


def moved(steps: Sequence[Planned], number: int, to: int) -> list[dict[str, Any]]:
    """Return the steps with one of them moved.

    Raises: StepMalformed where a step would come before one that makes what it refers to.
    """
    order = [n for n in range(1, len(steps) + 1) if n != number]
    order.insert(max(1, min(to, len(steps))) - 1, number)
    for at, each in enumerate(order):
        for other in sorted(_used_by(steps[each - 1])):
            if other not in order[:at]:
                raise StepMalformed(
                    each,
                    f"it uses what step {other} makes, so it must come after it.",
                    hint=f"Move step {other} as well, or change what the step refers to.",
                )
    arranged = _arranged(steps, {old: new for new, old in enumerate(order, start=1)})
    return [arranged[old - 1] for old in order]


def removed(steps: Sequence[Planned], number: int) -> list[dict[str, Any]]:
    """Return the steps without one. Raises: StepMalformed where another uses what it makes."""
    for at, each in enumerate(steps, start=1):
        if number in _used_by(each) and at != number:
            raise StepMalformed(
                at,
                f"it uses what step {number} makes, so that one can't be taken out.",
                hint=f"Change or take out step {at} first.",
            )
    numbers = {n: n if n < number else n - 1 for n in range(1, len(steps) + 1)}
    arranged = _arranged(steps, numbers)
    return [*arranged[: number - 1], *arranged[number:]]


def _used_by(step: Planned) -> set[int]:
    return {
        reference["step"]
        for value in step["arguments"].values()
        for reference in references.within(value)
        if type(reference.get("step")) is int
    }


def _arranged(steps: Sequence[Planned], numbers: Mapping[int, int]) -> list[dict[str, Any]]:
    def new_number(old: int) -> int:
        return numbers.get(old, old)

    return [
        {
            **step,
            "arguments": {
                name: references.renumbered(value, new_number)
                for name, value in step["arguments"].items()
            },
        }
        for step in steps
    ]
