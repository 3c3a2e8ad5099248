"""Repeat a change safely: the same Idempotency-Key gets the first answer, not a second change.

The answer is kept in the transaction of its change, so either both are there or neither; a phone
that lost the answer, or a server that died, does no harm. A refused request leaves nothing, so it
can be repeated with the same key. Keys belong to a user and are kept for a day.

Source: draft-ietf-httpapi-idempotency-key-header-07 (the header; 422 for another request under
the key, 409 while the first still runs).
"""

import hashlib
import json
import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from api.faults import FaultError
from api.models import KeptAnswer
from records.changes import Overtaken

KEPT_FOR = timedelta(hours=24)
GIVEN_UP_AFTER = timedelta(minutes=2)
"""When a request that never ended is taken over: well beyond the longest wait for a turn."""

KEY_PATTERN = r"""^("[!#-\[\]-~]{1,100}"|[!#-\[\]-~]{1,100})$"""
"""Up to a hundred visible characters but quote and backslash; all of it may stand in quotes."""

IDEMPOTENCY_KEY = OpenApiParameter(
    "Idempotency-Key",
    {"type": "string", "pattern": KEY_PATTERN},
    OpenApiParameter.HEADER,
    description=(
        "Any text of the client's, such as a random UUID. A request repeated with the same key "
        "within a day is answered as the first time and changes nothing more."
    ),
)
"""The header as the schema describes it, for each endpoint that claims the key."""


@dataclass(frozen=True, slots=True)
class Claim:
    """The right to answer the first request under a key; `answer` is set if it was answered."""

    row: KeptAnswer | None
    answer: dict[str, Any] | None = None

    def keep(self, answer: dict[str, Any]) -> None:
        """Keep the answer, in the transaction of the change it tells of. Raises: Overtaken."""
        if self.row is None:
            return
        mine = KeptAnswer.objects.filter(
            pk=self.row.pk, ticket=self.row.ticket, answer__isnull=True
        )
        if not mine.update(answer=answer):
            raise Overtaken(
                "The same request was taken over meanwhile.", hint="Repeat it to see its answer."
            )


@contextmanager
def claimed(request: Request, key: str | None, now: datetime) -> Iterator[Claim]:
    """Claim the key of a request, if it has one; give it back if nothing comes of it.

    Raises: FaultError for a key used for another request, or one that is still running.
    """
    if key is None:
        yield Claim(None)
        return
    row = _claim(request, key, now)
    if row.answer is not None:
        yield Claim(row, row.answer)
        return
    try:
        yield Claim(row)
    except BaseException:
        KeptAnswer.objects.filter(pk=row.pk, ticket=row.ticket, answer__isnull=True).delete()
        raise


def key_of(request: Request) -> str | None:
    """Return the key of a request, if any. Raises: FaultError for a key of a wrong form.

    The draft has it in quotes; without them it is the same key.
    """
    header = request.headers.get("Idempotency-Key")
    if header is None:
        return None
    if not re.search(KEY_PATTERN, header):
        raise FaultError("bad_key")
    return header.strip('"')


def _claim(request: Request, key: str, now: datetime) -> KeptAnswer:
    KeptAnswer.objects.filter(begun_at__lt=now - KEPT_FOR).delete()
    actor: Any = request.user
    fresh = KeptAnswer(
        actor=actor,
        key=key,
        fingerprint=_fingerprint(request),
        ticket=uuid.uuid4(),
        begun_at=now,
    )
    # One statement decides who was first; the loser reads what the winner left.
    KeptAnswer.objects.bulk_create([fresh], ignore_conflicts=True)
    row = KeptAnswer.objects.filter(actor=actor, key=key).first()
    if row is None:
        raise FaultError("still_running")
    if row.fingerprint != fresh.fingerprint:
        raise FaultError("key_reused")
    if row.ticket == fresh.ticket or row.answer is not None:
        return row
    return _taken_over(row, fresh, now)


def _taken_over(row: KeptAnswer, fresh: KeptAnswer, now: datetime) -> KeptAnswer:
    """Take over a request that began so long ago that it can't be running any more."""
    abandoned = KeptAnswer.objects.filter(
        pk=row.pk, ticket=row.ticket, begun_at__lt=now - GIVEN_UP_AFTER, answer__isnull=True
    )
    if not abandoned.update(ticket=fresh.ticket, begun_at=now):
        raise FaultError("still_running", wait=1)
    row.ticket = fresh.ticket
    return row


def _fingerprint(request: Request) -> str:
    """Tell requests apart by address and body; how the body was spaced makes no difference."""
    body = json.dumps(request.data, sort_keys=True)
    return hashlib.sha256(f"{request.path}\n{body}".encode()).hexdigest()
