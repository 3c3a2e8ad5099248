"""Which element of a PON port's tree explains the readings taken on it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import hypot

from records.light.causes import find_causes
from records.light.faults import AtWavelength, Candidate, Kind, Observed, observed
from records.light.first_checks import first_check
from records.models import Direction
from records.optics.levels import launch_level
from records.queries._fault_names import FaultNames, Named, fault_names, of_one_cable
from records.queries._other_light import Beside, beside
from records.queries._tree_steps import SIGMAS_IN_A_RANGE, TreeSteps, tree_steps
from records.queries.engine import rows
from records.queries.readings import Judged, latest_readings

NAMED = 6
"""How many suspects of a candidate are named, the first to check in front."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """An element that may be at fault, and what to check on it, in a sentence."""

    kind: str
    name: str
    point_id: int
    check: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """A reading that says something about a candidate, and what its point is called."""

    judged: Judged
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A possible fault with its suspects, the one to check first in front, and its evidence.

    `extra_db` is what it costs at the longest wavelength read, None for a break. `clears` are
    good readings right beside; `unexplained` low or dark ones elsewhere. `by_wavelength` compares.
    """

    kind: Kind
    chance: float
    extra_db: float | None
    extra_sigma_db: float | None
    suspects: tuple[Suspect, ...]
    says_so: tuple[Witness, ...]
    contradicts: tuple[Witness, ...]
    clears: tuple[Witness, ...]
    unexplained: tuple[Witness, ...]
    by_wavelength: tuple[AtWavelength, ...]

    @property
    def wavelength_hint(self) -> str:
        """Return what the comparison of wavelengths suggests, or what to read to have one.

        Source: `records.optics.bends.SOURCE`.
        """
        if self.kind == Kind.DEAD:
            return ""
        if len(self.by_wavelength) < 2:  # noqa: PLR2004 (one can't be compared)
            return "Read at a second wavelength too: a bend loses more at the longer one."
        low, high = self.by_wavelength[0], self.by_wavelength[-1]
        told = (
            f"{high.extra_db:.1f} dB at {high.wavelength_nm} nm, "
            f"{low.extra_db:.1f} dB at {low.wavelength_nm} nm"
        )
        if self.kind == Kind.FIBRE:
            return f"More loss at the longer wavelength would be a bend: {told}."
        return f"The same loss at both wavelengths would be a joint: {told}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Causes:
    """What may explain the readings of one channel's tree, by kind, likeliest first.

    `read` counts the readings weighed; `outdated` those left out because the way of their light
    was worked on since. `further` are causes beside the likeliest.
    """

    channel_id: int
    steps: tuple[Cause, ...]
    fibres: tuple[Cause, ...]
    dead: tuple[Cause, ...]
    further: tuple[Cause, ...]
    read: int
    outdated: int

    @property
    def check_first(self) -> tuple[Cause, ...]:
        """Return the likeliest extra loss and the likeliest break, each likelier than none."""
        losses = sorted((*self.steps, *self.fibres), key=lambda each: -each.chance)
        return tuple(
            ranked[0]
            for ranked in (losses, self.dead)
            if ranked and ranked[0].chance > 1 - sum(each.chance for each in ranked)
        )

    @property
    def newest_low_at(self) -> datetime | None:
        """Return when the newest reading was taken that needs an explanation, if any does."""
        return max((taken_at for taken_at in self._low().values()), default=None)

    @property
    def older_good(self) -> int:
        """Return how many good readings beside the low ones are from days before the newest low.

        Where the fault is newer than they are, they clear what they should not.
        """
        low, newest = self._low(), self.newest_low_at
        if newest is None:
            return 0
        good = {
            witness.judged.reading.pk
            for cause in (*self.steps, *self.fibres, *self.dead)
            for witness in (*cause.clears, *cause.contradicts)
            if witness.judged.reading.taken_at.date() < newest.date()
        }
        return len(good - low.keys())

    def _low(self) -> dict[int, datetime]:
        """Return when the readings were taken that the likeliest causes explain or leave."""
        return {
            witness.judged.reading.pk: witness.judged.reading.taken_at
            for cause in self.check_first
            for witness in (*cause.says_so, *cause.unexplained)
        }


def causes(channel_id: int, *, since: datetime | None = None) -> Causes:
    """Return what may explain the latest readings under a channel, with a fixed number of queries.

    `since` leaves older readings out, as when a fault is new. Those from before the latest work on
    the way of their light are left out always; other figures since only move what is expected.
    """
    found = latest_readings(_read_points(channel_id))
    latest = [each for each in found if since is None or each.reading.taken_at >= since]
    current = [each for each in latest if not each.is_before_change and not each.is_resting]
    own = [each for each in current if _is_of(each, channel_id)]
    others = [each for each in current if _shares_port(each, channel_id)]
    outdated = sum(1 for each in latest if each.is_before_change and _is_of(each, channel_id))
    return _told(channel_id, own, beside(own, others), outdated=outdated)


def _read_points(channel_id: int) -> list[int]:
    found = rows(
        """WITH RECURSIVE beyond(point_id) AS (
               SELECT point_id FROM records_channel WHERE id = %s
               UNION ALL
               SELECT feed.point_id FROM beyond JOIN records_feed feed
                 ON feed.upstream_id = beyond.point_id AND feed.channel_id = %s
           )
           SELECT DISTINCT point_id FROM beyond
           WHERE EXISTS (
               SELECT 1 FROM records_reading reading WHERE reading.point_id = beyond.point_id)""",
        [channel_id, channel_id],
    )
    return [point for (point,) in found]


def _is_of(judged: Judged, channel_id: int) -> bool:
    return judged.lit is not None and judged.lit.channel_id == channel_id


def _shares_port(judged: Judged, channel_id: int) -> bool:
    """Tell whether a reading is of another channel that comes all the way through the same."""
    if judged.lit is None or judged.lit.channel_id == channel_id:
        return False
    ports = {lit.port_id for lit in judged.light if lit.channel_id == channel_id}
    return judged.lit.port_id in ports


def _told(
    channel_id: int, own: Sequence[Judged], others: Sequence[Beside], *, outdated: int
) -> Causes:
    if not own or own[0].lit is None:
        return Causes(
            channel_id=channel_id,
            steps=(),
            fibres=(),
            dead=(),
            further=(),
            read=0,
            outdated=outdated,
        )
    tree = tree_steps(channel_id, own[0].lit.launch, (each.reading.point_id for each in own))
    found = find_causes(
        tree.steps,
        [_observed(each, tree) for each in own],
        beside=[_observed_beside(each, tree) for each in others],
    )
    read = [*own, *(each.judged for each in others)]
    ranked = (*found.steps, *found.fibres, *found.dead, *found.further)
    telling = _Telling.of(tree, read, ranked)
    return Causes(
        channel_id=channel_id,
        steps=tuple(map(telling.cause, found.steps)),
        fibres=tuple(map(telling.cause, found.fibres)),
        dead=tuple(map(telling.cause, found.dead)),
        further=tuple(map(telling.cause, found.further)),
        read=len(read),
        outdated=outdated,
    )


def _observed(judged: Judged, tree: TreeSteps) -> Observed:
    """Return a reading as it is weighed; one upwards is of the home's own terminal."""
    if judged.lit is None:
        raise ValueError("Only a reading of expected light can be weighed.")
    is_down = judged.reading.direction == Direction.DOWN
    own = launch_level(judged.lit.optical_class.up)
    return observed(
        tree.ends_at[judged.reading.point_id],
        expected=judged.lit.level if is_down else judged.lit.up_level,
        level_dbm=judged.level_dbm,
        uncertainty_db=judged.reading.uncertainty_mdb / 1000,
        wavelength_nm=judged.reading.wavelength_nm,
        launch_sigma_db=0.0 if is_down else (own.most_dbm - own.least_dbm) / SIGMAS_IN_A_RANGE,
    )


def _observed_beside(other: Beside, tree: TreeSteps) -> Observed:
    """Return a reading of another channel without what that channel misses everywhere."""
    seen = _observed(other.judged, tree)
    if seen.missing_db is None or other.judged.lit is None:
        raise ValueError("Only a reading of light can be weighed beside others.")
    if other.offset_db is not None:
        return seen._replace(missing_db=seen.missing_db - other.offset_db)
    launch = other.judged.lit.launch
    launch_sigma_db = (launch.most_dbm - launch.least_dbm) / SIGMAS_IN_A_RANGE
    return seen._replace(sigma_db=hypot(seen.sigma_db, launch_sigma_db))


@dataclass(frozen=True, slots=True)
class _Telling:
    """What candidates are told with: the tree, the readings, and names."""

    tree: TreeSteps
    read: Sequence[Judged]
    names: FaultNames

    @classmethod
    def of(
        cls, tree: TreeSteps, read: Sequence[Judged], ranked: Iterable[Candidate]
    ) -> "_Telling":
        """Read all names at once."""
        shown = {step for each in ranked for step in each.suspects[:NAMED]}
        read_points = (each.reading.point_id for each in read)
        return cls(tree, read, fault_names(tree, shown, read_points))

    def cause(self, found: Candidate) -> Cause:
        """Return a candidate in words."""
        return Cause(
            kind=found.kind,
            chance=found.chance,
            extra_db=found.extra_db,
            extra_sigma_db=found.extra_sigma_db,
            suspects=tuple(self._suspects(found)),
            says_so=self._witnesses(found.says_so),
            contradicts=self._witnesses(found.contradicts),
            clears=self._witnesses(found.clears),
            unexplained=self._witnesses(found.unexplained),
            by_wavelength=found.by_wavelength,
        )

    def _witnesses(self, numbers: Iterable[int]) -> tuple[Witness, ...]:
        judged = (self.read[number] for number in numbers)
        return tuple(
            Witness(judged=each, name=self.names.points[each.reading.point_id]) for each in judged
        )

    def _suspects(self, found: Candidate) -> Iterable[Suspect]:
        shown = found.suspects[:NAMED]
        named = [self.names.suspects[step] for step in shown]
        sheaths = {self.tree.steps[step].sheath for step in shown}
        if len(shown) > 1 and len(sheaths) == 1 and None not in sheaths:
            yield self._suspect(found.kind, shown[0], of_one_cable(named))
            return
        for step, name in zip(shown, named, strict=True):
            yield self._suspect(found.kind, step, name)

    def _suspect(self, fault: Kind, step: int, named: Named) -> Suspect:
        kind = self.tree.steps[step].kind
        return Suspect(
            kind=kind,
            name=named.name,
            point_id=self.tree.where[step].point_id,
            check=first_check(fault, kind).format(name=named.name),
        )
