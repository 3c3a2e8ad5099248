"""Ask of any past moment what can be asked of today, by the same queries.

Inside `as_it_stood(number)` every statement that reads a kept table reads its history twin
instead, limited to the versions that stood just after that change. The queries, through the ORM
or not, are the very ones that answer for today, so no answer exists in two wordings. A write
inside is refused.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from contextvars import ContextVar
from datetime import UTC, date, datetime, time
from typing import Any

from django.db import connection

from records.models import STILL, Change
from records.queries._past_sql import past_pieces

NOW = STILL - 1
"""A number that every standing version holds at and no ended one does."""

_asked: ContextVar[int] = ContextVar("asked", default=NOW)


def number_asked() -> int:
    """Return the change number that queries now answer for."""
    return _asked.get()


def number_at(moment: datetime) -> int:
    """Return the number of the latest change made by then; 0 before the first."""
    made = Change.objects.filter(at__lte=moment, sealed=True).order_by("-number")
    return made.values_list("number", flat=True).first() or 0


class NoSuchMomentError(ValueError):
    """A moment that the record can't be asked about, in words."""


_NUMBER_MAX = 18
"""Digits of a number that every database can hold."""


def moment_asked(text: str, *, now: datetime) -> int:
    """Return the change after which the record stood as someone asks for it in words.

    `text` is the number of a change, a time, or a day, which means the end of it; where it says
    no zone, UTC. Raises: NoSuchMomentError.
    """
    if text.isascii() and text.isdecimal():
        known = Change.objects.filter(sealed=True)
        if len(text) <= _NUMBER_MAX and known.filter(number=int(text)).exists():
            return int(text)
        raise NoSuchMomentError(f"There is no change {text[:_NUMBER_MAX]}.")
    first, latest = _read(text)
    if first > now:
        raise NoSuchMomentError(f"There is no record of {text} yet: that is in the future.")
    number = number_at(latest)
    if not number:
        raise NoSuchMomentError(f"There was no record yet on {text}.")
    return number


def _read(text: str) -> tuple[datetime, datetime]:
    """Return the first and the last moment of what a text says: a day, or one moment twice."""
    try:
        if len(text) == len("2026-03-02"):
            day = date.fromisoformat(text)
            ends = (datetime.combine(day, each, tzinfo=UTC) for each in (time.min, time.max))
            return next(ends), next(ends)
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise NoSuchMomentError(
            f"There is no moment '{text[:40]}'. Give the number of a change, a day such as "
            "2026-03-02, or a time such as 2026-03-02T09:30:00Z."
        ) from error
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return aware, aware


@contextmanager
def as_it_stood(number: int) -> Iterator[None]:
    """Let all queries inside answer for the record as it stood just after a change.

    Inside another such block the inner one counts. Raises: RuntimeError on a write, or where a
    kept table is read in a form that can't be turned to its twin.
    """
    is_inner = _asked.get() != NOW
    token = _asked.set(number)
    try:
        with nullcontext() if is_inner else connection.execute_wrapper(_run_past):
            yield
    finally:
        _asked.reset(token)


def _run_past(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
    return execute(str(_asked.get()).join(past_pieces(sql)), *rest)
