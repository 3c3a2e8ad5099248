"""A form that is sent twice is recorded once.

A form carries a token. What is recorded keeps a digest of the token and of all that was sent with
it, inside the change itself, so that both are committed together. As changes take turns, a repeat
that waited for its turn finds the first. A form altered and sent again is another change.
"""

import hashlib
import secrets
from typing import NamedTuple

from django.contrib.auth.models import AbstractBaseUser
from django.core.signing import BadSignature, Signer
from django.http import QueryDict

from records.changes import OpenChange
from records.models import Change

_SIGNER = Signer(salt="records.web.once")
_NOT_SENT_BY_A_PERSON = {"csrfmiddlewaretoken"}


class Repeated(Exception):  # noqa: N818 (an answer, not an error)
    """What was sent is recorded already."""

    def __init__(self, change: Change) -> None:
        """Carry the change that recorded it."""
        super().__init__(f"Recorded already as {change}.")
        self.change = change


class Sent(NamedTuple):
    """What tells one sending from another: its digest, and the latest change before the form."""

    digest: str
    after: int


def new_token() -> str:
    """Return a token for a form that is shown now."""
    latest = Change.objects.order_by("-number").values_list("number", flat=True).first() or 0
    return _SIGNER.sign(f"{latest}-{secrets.token_urlsafe(12)}")


def sent(data: QueryDict) -> Sent | None:
    """Return what tells this sending from another, None where its token was not made here."""
    try:
        token = _SIGNER.unsign(data.get("token", ""))
    except BadSignature:
        return None
    latest, _, _chance = token.partition("-")
    fields = sorted(
        (name, values) for name, values in data.lists() if name not in _NOT_SENT_BY_A_PERSON
    )
    return Sent(hashlib.sha256(repr(fields).encode()).hexdigest(), int(latest))


def refuse_repeat(change: OpenChange, sending: Sent) -> None:
    """Go on only if this was not recorded before. Raises: Repeated."""
    first = recorded(change.actor, sending)
    if first is not None:
        raise Repeated(first)


def recorded(actor: AbstractBaseUser, sending: Sent) -> Change | None:
    """Return the change that recorded what was sent, if it was."""
    return Change.objects.filter(
        number__gt=sending.after,
        actor_id=actor.pk,
        sealed=True,
        effect__steps__0__sent=sending.digest,
    ).first()


def keep(change: OpenChange, sending: Sent, leads_to: tuple[str, int] | None) -> None:
    """Keep in the change what was sent, and the page it led to."""
    change.steps[0] |= {"sent": sending.digest, "leads_to": leads_to}
