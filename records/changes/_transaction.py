"""Open a change: the only file that opens transactions.

Changes take turns. On SQLite `BEGIN IMMEDIATE` gives the turn, on PostgreSQL one advisory lock
taken as the transaction's first statement, so each statement of a change sees all that came
before it. That is serialisable in effect, needs no retries, and lets `number` order the changes;
the race tests run it against the same code without the lock. See "Locking" in DEVELOPERS.md.

A verb may assume: it is alone, and what it reads stays true until it returns. It must not wait
inside: no mail, no files, no network.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from copy import copy
from dataclasses import dataclass, field, fields
from datetime import datetime
from functools import wraps
from typing import Any, ClassVar, Concatenate, ParamSpec, TypeVar

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, OperationalError, connection, transaction

from records.changes import _booking_turns
from records.changes.refusals import Malformed, Refusal
from records.models import Change
from records.queries import chain
from records.queries.light_turns import LightTurns, light_turns

P = ParamSpec("P")
R = TypeVar("R")
T = TypeVar("T")

TURN = 4_276_115_302
"""The advisory lock's number: any constant that no other program on the database uses."""


class Busy(Refusal):
    """Another change held the record for too long."""

    code = "busy"
    status = 503
    retry_after_s: ClassVar[int] = 5

    def __init__(self) -> None:
        """Say the same wherever the wait was: for a change's turn, or to sign in."""
        super().__init__(
            "The record is busy with another change.", hint="Wait a moment and try again."
        )


_GAVE_UP_WAITING = ("database is locked", "table is locked", "lock timeout", "deadlock")


def is_lock(error: BaseException | None) -> bool:
    """Tell whether the database gave up waiting for another: a fault of its disk is none."""
    return isinstance(error, OperationalError) and any(
        words in str(error) for words in _GAVE_UP_WAITING
    )


class Overtaken(Refusal):
    """Someone else changed the same thing just now."""

    code = "overtaken"


@dataclass
class OpenChange:
    """The change being made. Verbs get it as their first argument and note what they did.

    `light` lists in order which terminal got (True) or lost (False) the light of a channel, `fed`
    the points whose feeds were written or erased, `turns` what that light came to at the end.
    `heirs` names the port of a new home terminal by that of the old one it was swapped for.
    """

    number: int
    actor: AbstractBaseUser
    at: datetime
    steps: list[dict[str, Any]] = field(default_factory=list)
    light: list[tuple[int, bool]] = field(default_factory=list)
    fed: set[int] = field(default_factory=set)
    heirs: dict[int, int] = field(default_factory=dict)
    bookings: list[dict[str, Any]] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    turns: LightTurns | None = None
    feeds_written: int = 0
    verbs_run: int = 0
    depth: int = 0
    is_half_written: bool = False

    def say(self, words: str) -> None:
        """Put in words what the present step did. Compound verbs speak last and are heard."""
        self.steps[-1]["words"] = words

    def warn(self, words: str) -> None:
        """Tell what a person should know though it is no reason to refuse."""
        self.warnings.append(words)

    def inherit(self, old: int, new: int) -> None:
        """Note that a terminal port takes the place of an old one: to its home it is one light."""
        self.heirs = {first: new if heir == old else heir for first, heir in self.heirs.items()}
        self.heirs.setdefault(old, new)
        self.light[:] = [(new if port == old else port, is_lit) for port, is_lit in self.light]

    @contextmanager
    def as_one_step(self, name: str) -> Iterator[None]:
        """Note the verbs within as one step, whose words are said at the end.

        For documents of thousands of rows: what each row did stands in history.
        """
        self.steps.append({"verb": name, "words": ""})
        self.depth += 1
        try:
            yield
        finally:
            self.depth -= 1

    @contextmanager
    def attempt(self) -> Iterator[None]:
        """Leave nothing of what is within where it is refused, and let the refusal out.

        The change itself stays sound, so that the same may be tried in another way.
        """
        before = {each.name: copy(getattr(self, each.name)) for each in fields(self)}
        before["steps"] = [copy(step) for step in self.steps]  # say() changes the latest
        try:
            with transaction.atomic():
                yield
        except Refusal:
            for name, value in before.items():
                setattr(self, name, value)
            raise

    def did(self, count: int) -> None:
        """Count what verbs do, and have tables looked at whenever it is a good deal more."""
        before, self.verbs_run = self.verbs_run, self.verbs_run + count
        if any(before < many <= self.verbs_run for many in STATISTICS_AT):
            _count_anew()

    def effect(self) -> dict[str, Any]:
        """Return what the change did, for its audit row and for previews.

        Once the change is sealed it tells the light as it was then, also if rolled back since.
        """
        turns = self.turns or light_turns(self.light)
        return {
            "steps": self.steps,
            "terminals_lit": turns.lit,
            "terminals_darkened": turns.darkened,
            "terminals_on_standby": turns.on_standby,
            "terminals_kept_lit": turns.kept_lit,
            "terminals_interrupted": turns.interrupted,
            "bookings": _booking_turns.in_sum(self.bookings),
            "warnings": self.warnings,
            "feeds_written": self.feeds_written,
        }


STATISTICS_AT = (100, 1_000, 10_000)
"""After how many verbs of one change PostgreSQL is told how much the tables have grown.

It plans by the sizes it knew before, when a table of a new record was a page to be read whole;
in a change of thousands of verbs each joint then reads the whole network.
"""

VERBS: dict[str, Callable[..., Any]] = {}
"""Every verb by its name, noun first: `joints.join`."""


def verb(
    function: Callable[Concatenate[OpenChange, P], R],
) -> Callable[Concatenate[OpenChange, P], R]:
    """Make a function a verb: known by name, its steps noted, refused outside a change."""
    name = f"{function.__module__.rpartition('.')[2]}.{function.__name__}"

    @wraps(function)
    def run(change: OpenChange, /, *args: P.args, **kwargs: P.kwargs) -> R:
        if not connection.in_atomic_block:
            raise RuntimeError(f"{name} was called outside an open change.")
        if change.depth == 0:
            change.steps.append({"verb": name, "words": ""})
        change.did(1)
        change.depth += 1
        try:
            return function(change, *args, **kwargs)
        except BaseException:
            change.is_half_written = True
            raise
        finally:
            change.depth -= 1

    VERBS[name] = run
    return run


def for_many(
    function: Callable[[OpenChange, Sequence[T]], list[R]],
) -> Callable[[OpenChange, Sequence[T]], list[R]]:
    """Make a function the form of a verb that does it many times at once, set-based.

    The verb itself is a list of one. It is not known by name: only documents ask for many.
    """

    @wraps(function)
    def run(change: OpenChange, wanted: Sequence[T], /) -> list[R]:
        if not connection.in_atomic_block:
            raise RuntimeError(f"{function.__name__} was called outside an open change.")
        if not wanted:
            return []
        change.did(len(wanted) - 1)  # the verb has counted one, or the many count one less
        try:
            return function(change, wanted)
        except BaseException:
            change.is_half_written = True
            raise

    return run


@contextmanager
def opened(
    *,
    actor: AbstractBaseUser,
    reason: str = "",
    at: datetime,
    job: int | None = None,
    preview: bool = False,
) -> Iterator[OpenChange]:
    """Open a change, hand it to verbs, and commit it with its audit row, or leave nothing.

    With `preview` all runs for real and is then rolled back; the change still tells its effect.
    `job` is the job whose steps are done. Raises: whatever a verb refuses; Busy; Overtaken.
    """
    _check_reason(reason)
    try:
        with transaction.atomic(durable=True):
            _take_turn()
            row = Change.objects.create(
                actor_id=actor.pk, reason=reason.strip(), at=at, job_id=job
            )
            change = OpenChange(row.number, actor, at)
            yield change
            if change.is_half_written and not preview:
                raise RuntimeError("A refused verb may have written half; let its refusal out.")
            _seal(change, row)
            if preview:
                transaction.set_rollback(True)
    except IntegrityError as error:
        raise Overtaken(
            "Someone else changed the same thing just now.",
            hint="Look at it again and repeat the change if it is still wanted.",
        ) from error
    except OperationalError as error:
        if is_lock(error):
            raise Busy from error
        raise


def _check_reason(reason: str) -> None:
    limit = Change._meta.get_field("reason").max_length or 0
    if len(reason) > limit:
        raise Malformed(
            f"The reason has {len(reason)} characters.",
            hint=f"Use at most {limit}.",
            field="reason",
        )


def _take_turn() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [TURN])


def _count_anew() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _seal(change: OpenChange, row: Change) -> None:
    row.verb = _name(change.steps)
    change.turns = light_turns(change.light)
    row.effect = change.effect()
    row.digest = chain.digest(row)
    row.sealed = True
    row.save(update_fields=["verb", "effect", "digest", "sealed"])


def _name(steps: list[dict[str, Any]]) -> str:
    verbs = {step["verb"] for step in steps}
    if len(verbs) > 1:
        return "several"
    return verbs.pop() if verbs else "nothing"
