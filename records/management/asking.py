"""What commands are asked by, alike in all: a sheet, a day, a place, a moment."""

from argparse import ArgumentTypeError
from datetime import date
from pathlib import Path

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from records.models import Place
from records.queries.moment import NoSuchMomentError, moment_asked
from records.queries.plain_names import meant


def sheet_arguments(parser: CommandParser, *, commits: str) -> None:
    """Ask for a file to be checked, and recorded with --commit; `commits` says what that does."""
    parser.add_argument("file", type=Path, help="a CSV file")
    parser.add_argument("--commit", action="store_true", help=commits)
    parser.add_argument("--user", metavar="NAME", help="who acts; needed if there are several")
    parser.add_argument("--reason", default="", help="kept with the change")
    parser.add_argument("--all", action="store_true", help="show every row and fault")


def day(text: str) -> date:
    """Return the day of an argument. Raises: ArgumentTypeError."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError(f"'{text}' is no day such as 2024-03-01.") from error


def place(name: str) -> int:
    """Return the place of an id or a plain name. Raises: CommandError."""
    if name.isascii() and name.isdecimal() and Place.objects.filter(pk=int(name)).exists():
        return int(name)
    found = meant("place", name)
    if len(found) == 1:
        return found[0].id
    if found:
        raise CommandError(f"Say which place: {'; '.join(each.name for each in found[:10])}.")
    raise CommandError(f"No place is called '{name}'. Name one as on its page: Block A, Flat 12.")


def moment(text: str | None) -> int | None:
    """Return the change after which the record stood as asked, None for now.

    Raises: CommandError.
    """
    if text is None:
        return None
    try:
        return moment_asked(text, now=timezone.now())
    except NoSuchMomentError as error:
        raise CommandError(str(error)) from error
