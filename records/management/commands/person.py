"""`python3 manage.py person NAME`: give one of the crew an account, or a new password."""

from getpass import getpass
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser


class Command(BaseCommand):
    """Make an account that may do all but what asks for an owner; ask for its password."""

    help = (
        "Give one of the crew an account, or a new password, which is asked for. Who has one may "
        "do all but what asks for an owner (createsuperuser makes those): cut out what never "
        "comes back, or approve a job planned by oneself."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the person."""
        parser.add_argument("name", help="what the person signs in as")

    def handle(self, *_args: Any, name: str, **_options: Any) -> None:
        """Ask for the password twice, and keep the account."""
        if not name.strip():
            raise CommandError("Say what the person signs in as: manage.py person NAME")
        users = get_user_model()
        person = users.objects.filter(username=name).first()
        is_new = person is None
        person = person or users(username=name)
        try:
            users._meta.get_field("username").clean(name, person)
            _refuse_closed(person)
            password = _asked()
            validate_password(password, person)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        person.set_password(password)
        person.save()
        done = "can sign in now" if is_new else "has a new password"
        self.stdout.write(self.style.SUCCESS(f"{name} {done}."))


def _refuse_closed(person: Any) -> None:
    """Refuse a password for an account that nobody can sign in to with it."""
    if not person.is_active:
        raise CommandError(f"The account {person} is closed. Give the person another name.")


def _asked() -> str:
    try:
        password, again = getpass("Password: "), getpass("Once more: ")
    except EOFError as error:
        raise CommandError("No password was typed. Run this where one can be.") from error
    if password != again:
        raise CommandError("The two differ, and nothing was written. Run it again.")
    return password
