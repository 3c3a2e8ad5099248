"""Whether a record is the demo, so that nothing else is ever mixed with it or swept away."""

from enum import StrEnum, auto

from django.contrib.auth import get_user_model
from django.db import connection

from records.intake.scenario._diary import FIRST_REASON, LATEST_REASON
from records.models import Change


class Standing(StrEnum):
    """What a database holds."""

    EMPTY = auto()
    DEMO = auto()
    HALF_A_DEMO = auto()
    SHARED_DEMO = auto()
    OTHER = auto()


def standing(username: str) -> Standing:
    """Return what the database holds; `username` is who builds demos.

    A database is a demo if its first change is the demo's; it is shared once anyone else has a
    name in it, and what they did is theirs. It may be older than the program: only what is there
    since the first migration is asked.
    """
    tables = set(connection.introspection.table_names())
    users = get_user_model()
    has_others = (
        users._meta.db_table in tables and users.objects.exclude(username=username).exists()
    )
    if Change._meta.db_table not in tables or not Change.objects.exists():
        return Standing.OTHER if has_others else Standing.EMPTY
    reasons = Change.objects.order_by("number").values_list("reason", flat=True)
    if reasons[0] != FIRST_REASON:
        return Standing.OTHER
    if not reasons.filter(reason=LATEST_REASON).exists():
        return Standing.OTHER if has_others else Standing.HALF_A_DEMO
    return Standing.SHARED_DEMO if has_others else Standing.DEMO
