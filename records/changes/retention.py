"""Verbs that cut out what may not be kept for ever: an outside reference, a person's name.

The plant's history is kept for its life. What leads from it to a person is not vouched for by any
digest, so it can be cut out, in the past too, and the chain still holds.
"""

from typing import Any

from django.apps import apps
from django.contrib.auth import get_user_model

from records.changes import _search
from records.changes._checks import existing
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Refusal
from records.models import KEPT, Line, Noun, SearchText
from records.queries.words import normalised


class NothingToForget(Refusal):
    """A cutting out of what is not there, or no longer."""

    code = "nothing_to_forget"


class OwnAccount(Refusal):
    """A person who would cut out the name under which this very change is made."""

    code = "own_account"


@verb
def forget_outside_ref(change: OpenChange, line: int) -> Line:
    """Cut a line's outside reference out of the record, its history and its search words.

    Raises: Missing, NothingToForget.
    """
    found = existing(Line.objects, line, field="line")
    past: Any = KEPT[Line].objects
    versions = past.filter(id=line).exclude(outside_ref="")
    if not versions.exists():
        raise NothingToForget(
            f"Line {found} has no outside reference, now or in the past.",
            hint="Check which line is meant.",
            field="line",
            subjects=(line,),
        )

    Line.objects.filter(pk=line).update(outside_ref="")
    versions.update(outside_ref="")
    found.outside_ref = ""
    _search.index_lines([found])
    words: Any = KEPT[SearchText].objects
    words = words.filter(noun=Noun.LINE, thing_id=line)
    words.exclude(words=normalised(found.identifier)).update(words="")
    change.say(f"cut out the outside reference of line {found}")
    return found


@verb
def forget_person(change: OpenChange, person: int) -> Any:
    """Cut a person's name out of the record: the account stays, nameless and closed.

    What the person did stays theirs by number. Sign-in tokens and the log of sign-ins go.
    Raises: Missing, NothingToForget, OwnAccount.
    """
    people = get_user_model()._default_manager  # noqa: SLF001 (Django's name)
    found: Any = existing(people, person, field="person")
    if person == change.actor.pk:
        raise OwnAccount(
            "This is the account that makes the change.",
            hint="Let another person do it.",
            field="person",
        )
    nameless = f"person-{person}"
    if found.get_username() == nameless:
        raise NothingToForget(
            f"The name of {nameless} was cut out already.",
            hint="Check which person is meant.",
            field="person",
        )

    _forget_sign_ins(found.get_username(), person)
    found.username = nameless
    found.first_name = found.last_name = found.email = ""
    found.is_active = found.is_staff = found.is_superuser = False
    found.set_unusable_password()
    found.save()
    change.say(f"cut out the name of {nameless}")
    return found


def _forget_sign_ins(username: str, person: int) -> None:
    apps.get_model("authtoken", "Token").objects.filter(user=person).delete()
    for log in ("AccessAttempt", "AccessLog", "AccessFailureLog"):
        apps.get_model("axes", log).objects.filter(username=username).delete()
