"""Who a command acts for: every change names a user."""

from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import CommandError


def actor(username: str | None) -> Any:
    """Return the user of a name; without one, the only user there is. Raises: CommandError."""
    users = get_user_model().objects.filter(is_active=True).order_by("username")
    if username:
        found = users.filter(username=username).first()
        if found is None:
            raise CommandError(f"There is no active user '{username}'. {_known(users)}")
        return found
    if len(users[:2]) == 1:
        return users[0]
    raise CommandError(f"Say who acts: --user NAME. {_known(users)}")


def _known(users: Any) -> str:
    names = ", ".join(users.values_list("username", flat=True)[:10])
    if not names:
        return "There is none yet: python3 manage.py createsuperuser makes the first."
    return f"Users: {names}."
