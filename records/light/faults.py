"""What is told of a possible fault, and how often the elements of a tree fail.

| word here | meaning here | elsewhere also |
| --- | --- | --- |
| missing | typical level expected less level read, in dB | excess loss |
| extra loss | what a fault costs beyond the element's own loss | step, event loss |
| suspects | the elements of a stretch, what to check first in front | |
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp, hypot
from typing import NamedTuple, Protocol, TypeVar

from records.light.stretches import Step
from records.optics.levels import Level
from records.optics.readings import REMATING_OFF_DB, Outcome, judge_reading

# A meter's stated uncertainty is taken as two standard deviations. Source: JCGM 100:2008 (GUM)
# 6.2, expanded uncertainty with coverage factor 2.
COVERAGE = 2.0

# How often an element is the fault, against the others. Source: common practice (dirty connectors
# are the most frequent fault; then bends and splices; last what has no moving part). What is not
# named here is no suspect: it has a loss in the record, but its pair is counted elsewhere.
FAULTS_OF = {
    "mated": 4.0,
    "adapter": 4.0,
    "fibre": 2.0,
    "mechanical": 2.0,
    "fusion": 1.0,
    "device": 1.0,
    "launch": 1.0,
    "leg": 0.5,
    "splitter": 0.5,
}

NOTHING_WRONG = 0.5
"""The chance that nothing is wrong, before any reading (common practice: someone asks)."""

WORTH_SAYING = 0.01
SHOWN = 5
"""How many candidates of a kind are told, if their chance is worth saying."""


class Kind(StrEnum):
    """What a fault is to the light."""

    STEP = "step at one joint"
    FIBRE = "lossy fibre"
    DEAD = "dead leg"


class Observed(NamedTuple):
    """A reading against what the record expects; `missing_db` None means no light was seen.

    `step` is the step at whose lower end the reading was taken. The sigma is of the reading alone.
    """

    step: int
    missing_db: float | None
    sigma_db: float
    wavelength_nm: int
    is_low: bool


class AtWavelength(NamedTuple):
    """By how much the readings below a candidate miss more than the rest, at one wavelength."""

    wavelength_nm: int
    extra_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One possible fault, with the readings for and against it by their number.

    `suspects` are steps, the one to check first in front. `extra_db` is at the longest wavelength
    read, None for a break. `clears` are good readings right beside: they share all but these
    elements. `unexplained` are low or dark readings elsewhere.
    """

    kind: Kind
    suspects: tuple[int, ...]
    chance: float
    extra_db: float | None
    extra_sigma_db: float | None
    says_so: tuple[int, ...]
    contradicts: tuple[int, ...]
    clears: tuple[int, ...]
    unexplained: tuple[int, ...]
    by_wavelength: tuple[AtWavelength, ...]


def observed(
    step: int,
    *,
    expected: Level,
    level_dbm: float | None,
    uncertainty_db: float,
    wavelength_nm: int,
    launch_sigma_db: float = 0.0,
) -> Observed:
    """Return a reading as it is weighed.

    `launch_sigma_db` is for light of a home's own terminal, whose launch no other reading shares.
    Raises: what `judge_reading` raises.
    """
    verdict = judge_reading(
        reading_dbm=level_dbm, expected=expected, uncertainty_db=uncertainty_db
    )
    if verdict.difference_db is None:
        return Observed(step, None, 0.0, wavelength_nm, is_low=True)
    meter_db = hypot(uncertainty_db, REMATING_OFF_DB) / COVERAGE
    return Observed(
        step,
        -verdict.difference_db,
        hypot(meter_db, launch_sigma_db),
        wavelength_nm,
        is_low=verdict.outcome == Outcome.LOW,
    )


class Idea(Protocol):
    """A fault that may be, before its evidence is put in words."""

    @property
    def kind(self) -> Kind:
        """Return what it is to the light."""

    @property
    def weight(self) -> float:
        """Return how often it occurs against the others."""

    @property
    def log_odds(self) -> float:
        """Return how much better the readings fit with it than with no fault."""


AnyIdea = TypeVar("AnyIdea", bound=Idea)


def likeliest(ideas: Iterable[AnyIdea]) -> list[tuple[float, AnyIdea]]:
    """Return the ideas worth telling with their chances, likeliest first, so many of each kind."""
    listed = list(ideas)
    found = chances([each.log_odds for each in listed], [each.weight for each in listed])
    ranked = sorted(zip(found, listed, strict=True), key=lambda pair: -pair[0])
    told: Counter[Kind] = Counter()
    worth = []
    for chance, idea in ranked:
        if chance >= WORTH_SAYING and told[idea.kind] < SHOWN:
            told[idea.kind] += 1
            worth.append((chance, idea))
    return worth


def suspects(steps: Sequence[Step], among: Iterable[int]) -> tuple[int, ...]:
    """Return the steps that can fail, what fails most often first, of equals the lowest."""
    able = [step for step in among if steps[step].kind in FAULTS_OF]
    return tuple(sorted(able, key=lambda step: (-FAULTS_OF[steps[step].kind], -step)))


def chances(log_odds: Sequence[float], weights: Sequence[float]) -> list[float]:
    """Return how likely each of several faults is, given that at most one of them is there.

    `weights` say how often each occurs against the others, `log_odds` how much better the readings
    fit with it than with none. What is missing to 1 is the chance of none.
    """
    if not weights:
        return []
    top = max(0.0, *log_odds)
    total = sum(weights)
    found = [
        (1 - NOTHING_WRONG) * weight / total * exp(odds - top)
        for weight, odds in zip(weights, log_odds, strict=True)
    ]
    all_told = sum(found) + NOTHING_WRONG * exp(-top)
    return [each / all_told for each in found]
