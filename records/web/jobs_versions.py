"""Two versions of a job's steps told apart, so that what one person typed fits what another saved.

No older version of a job is kept. A form carries instead a digest of each step beside which it was
shown; a step that was only moved, or whose references follow moved steps, keeps its digest.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from django.http import QueryDict

from records.changes import arranging, references
from records.changes.steps import STEPS_MAX, Step


def digests_of(steps: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return what tells steps apart, wherever they stand; short enough for a page to carry."""
    found: list[str] = []
    for step in steps:
        told = json.dumps([step["verb"], _placeless(step["arguments"], found), step["note"]])
        found.append(sha256(told.encode()).hexdigest()[:12])
    return found


def _placeless(value: Any, earlier: Sequence[str]) -> Any:
    """Return a value in which references name what a step is, not where it stands."""
    if isinstance(value, Mapping):
        is_reference = type(value.get("step")) is int and 1 <= value["step"] <= len(earlier)
        told = {"step": earlier[value["step"] - 1]} if is_reference else {}
        return sorted((key, _placeless(each, earlier)) for key, each in {**value, **told}.items())
    if isinstance(value, list | tuple):
        return [_placeless(each, earlier) for each in value]
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where in a job a step goes: in the place of a step, or before the one of that number."""

    number: int
    is_new: bool

    @classmethod
    def read(cls, text: str) -> "Spot | None":
        """Return the spot of a text such as `new 3` or `old 3`, None where it is none."""
        word, _, number = text.partition(" ")
        is_number = number.isdecimal() and len(number) <= len(str(STEPS_MAX))
        if word not in {"new", "old"} or not is_number:
            return None
        return cls(number=int(number), is_new=word == "new")

    def __str__(self) -> str:
        return f"{'new' if self.is_new else 'old'} {self.number}"

    def put(self, step: Step, steps: Sequence[Any]) -> list[dict[str, Any]]:
        """Return the steps with this one at its spot."""
        put = arranging.inserted if self.is_new else arranging.replaced
        return put(steps, step.as_json(), self.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class Versions:
    """The steps beside which a form was shown, and those of the job now, by their digests."""

    seen: list[str]
    now: list[str]

    @property
    def gone_count(self) -> int:
        """Return how many steps that were seen are altered or taken out."""
        return sum(each not in self.now for each in self.seen)

    def number_now(self, number: int) -> int:
        """Return the number that a step has now; its old one if it is altered or taken out."""
        if not 1 <= number <= len(self.seen) or self.seen[number - 1] not in self.now:
            return number
        return self.now.index(self.seen[number - 1]) + 1

    def spot_now(self, spot: Spot) -> Spot:
        """Return where a step goes now so that it overwrites nothing but what was seen there."""
        if spot.number > len(self.seen):
            return Spot(number=len(self.now) + 1, is_new=True)
        number = self.number_now(spot.number)
        is_there = self.seen[spot.number - 1] in self.now
        is_new = spot.is_new or not is_there
        return Spot(number=min(number, len(self.now) + 1), is_new=is_new)

    def typed_now(self, data: QueryDict, names: Iterable[str]) -> QueryDict:
        """Return what was typed, with the references of some fields leading where they led."""
        renewed = data.copy()
        for name in names:
            reference = references.from_words(data.get(name, ""))
            if reference is not None:
                renewed[name] = references.in_words(
                    references.renumbered(reference, self.number_now)
                )
        return renewed
