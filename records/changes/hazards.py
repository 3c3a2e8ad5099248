"""Verbs for hazard statements: record what an assessor stated, withdraw it. None is computed."""

from datetime import date

from records.changes._checks import choice, existing, present_place, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Refusal
from records.models import HazardLevel, HazardStatement
from records.queries.names import address


class StatementWithdrawn(Refusal):
    """A hazard statement that was withdrawn before."""

    code = "statement_withdrawn"


@verb
def state(
    change: OpenChange,
    place: int,
    *,
    hazard_level: str,
    assessor: str,
    stated_date: date,
    note: str = "",
) -> HazardStatement:
    """Record the hazard level that a named assessor stated for a place on a day.

    Raises: Missing, PlaceRetired, Malformed.
    """
    where = present_place(place, field="place")
    choice(hazard_level, HazardLevel.values, field="hazard_level")
    if stated_date > change.at.date():
        raise Malformed(
            f"{stated_date} is still to come.",
            hint="Give the day of the assessor's statement.",
            field="stated_date",
        )

    statement = HazardStatement.objects.create(
        place=where,
        level=hazard_level,
        assessor=text(assessor, 80, field="assessor", needed=True),
        stated_date=stated_date,
        note=text(note, 200, field="note"),
    )
    change.say(f"recorded hazard level {hazard_level} for {address(where)}, stated {stated_date}")
    return statement


@verb
def withdraw(change: OpenChange, statement: int, *, why: str) -> HazardStatement:
    """Withdraw a hazard statement. Raises: Missing, Malformed, StatementWithdrawn."""
    found = existing(HazardStatement.objects.select_related("place"), statement, field="statement")
    if found.withdrawn:
        raise StatementWithdrawn(
            f"This statement was withdrawn: {found.withdrawn}.",
            hint="Record what holds now.",
            field="statement",
        )
    found.withdrawn = text(why, 200, field="why", needed=True)

    HazardStatement.objects.filter(pk=statement).update(withdrawn=found.withdrawn)
    change.say(
        f"withdrew hazard level {found.level} for {address(found.place)}: {found.withdrawn}"
    )
    return found
