"""Verbs that cut out what may not be kept for ever: outside references, names, who saw a label.

The plant's history is kept for its life. What leads from it to a person is not vouched for by any
digest, so it can be cut out, in the past too, and the chain still holds. It never comes back, so
only an owner may: whoever `createsuperuser` made.
"""

from datetime import datetime
from typing import Any

from django.apps import apps
from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.db.models import TextField
from django.db.models.functions import Cast

from records.changes import _search
from records.changes._checks import existing
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Refusal
from records.models import KEPT, Job, Line, Noun, SearchText, Sighting
from records.queries.retention import nameless
from records.queries.words import counted, normalised

_REF = "outside_ref"
"""What `lines.open` calls the reference, and so a step of a job."""


class NothingToForget(Refusal):
    """A cutting out of what is not there, or no longer."""

    code = "nothing_to_forget"


class OwnersOnly(Refusal):
    """A cutting out by someone who isn't an owner of the record."""

    code = "owners_only"
    status = 403


class OwnAccount(Refusal):
    """A person who would cut out the name under which this very change is made."""

    code = "own_account"


@verb
def forget_outside_ref(change: OpenChange, line: int) -> Line:
    """Cut a line's outside reference out of the record, its history, search words and jobs.

    Raises: OwnersOnly, Missing, NothingToForget.
    """
    refuse_but_owners(change.actor)
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

    _cut_out_of_jobs(set(versions.values_list("outside_ref", flat=True)))
    Line.objects.filter(pk=line).update(outside_ref="")
    versions.update(outside_ref="")
    found.outside_ref = ""
    _search.index_lines([found])
    words: Any = KEPT[SearchText].objects
    words = words.filter(noun=Noun.LINE, thing_id=line)
    words.exclude(words=normalised(found.identifier)).update(words="")
    change.say(f"cut out the outside reference of line {found}")
    return found


def _cut_out_of_jobs(refs: set[str]) -> None:
    """Cut references out of the steps by which lines got them, recorded or not.

    A step keeps one as it was typed, a line with single spaces.
    """
    told = Job.objects.annotate(text=Cast("steps", TextField())).filter(text__contains=_REF)
    for job in told:
        listed = (step["arguments"] for step in job.steps)
        its = [each for each in listed if " ".join(each.get(_REF, "").split()) in refs]
        for arguments in its:
            arguments[_REF] = ""
        if its:
            job.save(update_fields=["steps"])


@verb
def forget_person(change: OpenChange, person: int) -> None:
    """Cut a person's name out of the record: the account stays, nameless and closed.

    What the person did stays theirs by number. Sign-in tokens and the log of sign-ins go.
    Raises: OwnersOnly, Missing, NothingToForget, OwnAccount.
    """
    refuse_but_owners(change.actor)
    people = get_user_model()._default_manager  # noqa: SLF001 (Django's name)
    found: Any = existing(people, person, field="person")
    if person == change.actor.pk:
        raise OwnAccount(
            "This is the account that makes the change.",
            hint="Let another person do it.",
            field="person",
        )
    without_name = nameless(person)
    if found.get_username() == without_name:
        raise NothingToForget(
            f"The name of {without_name} was cut out already.",
            hint="Check which person is meant.",
            field="person",
        )

    _forget_sign_ins(found.get_username(), person)
    found.username = without_name
    found.first_name = found.last_name = found.email = ""
    found.is_active = found.is_staff = found.is_superuser = False
    found.set_unusable_password()
    found.save()
    change.say(f"cut out the name of {without_name}")


@verb
def forget_sightings(change: OpenChange, *, seen_before: datetime) -> int:
    """Cut out who scanned labels before a moment; when each was last seen stays.

    Returns how many there were. Raises: OwnersOnly, Malformed, NothingToForget.
    """
    refuse_but_owners(change.actor)
    if seen_before > change.at:
        raise Malformed(
            f"{seen_before:%d %b %Y} is yet to come.",
            hint="Choose a day that is past.",
            field="seen_before",
        )
    seen = Sighting.objects.filter(at__lt=seen_before, by__isnull=False)
    count = seen.count()
    if not count:
        raise NothingToForget(
            f"No one is on record as having scanned a label before {seen_before:%d %b %Y}.",
            hint="Choose a later date, if it was meant.",
            field="seen_before",
        )

    seen.update(by=None)
    scans = counted(count, "scan")
    change.say(f"cut out who made {scans} of labels before {seen_before:%d %b %Y}")
    return count


def is_owner(person: AbstractBaseUser) -> bool:
    """Tell whether a person may do what asks for an owner: whoever `createsuperuser` made."""
    return bool(getattr(person, "is_superuser", False))


def refuse_but_owners(person: AbstractBaseUser) -> None:
    """Refuse what only an owner may do. Raises: OwnersOnly."""
    if not is_owner(person):
        raise OwnersOnly(
            "Only an owner may cut out what never comes back, and "
            f"{person.get_username()} is none.",
            hint="Ask an owner to do it.",
        )


def _forget_sign_ins(username: str, person: int) -> None:
    apps.get_model("authtoken", "Token").objects.filter(user=person).delete()
    for log in ("AccessAttempt", "AccessLog", "AccessFailureLog"):
        apps.get_model("axes", log).objects.filter(username=username).delete()
