"""`python3 manage.py catalogue`: load what the standards catalogue has and the record lacks."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from records import changes
from records.changes import catalogue
from records.management.actors import actor

CATALOGUE = settings.BASE_DIR / "fixtures" / "catalogue"


class Command(BaseCommand):
    """Load the catalogue of classes, losses and colours. What is there stays as it is."""

    help = (
        "Load optical classes, losses and colours from a folder. "
        "What the record has already stays as it is."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the folder and the user."""
        parser.add_argument(
            "--from", dest="folder", type=Path, default=CATALOGUE, metavar="FOLDER"
        )
        parser.add_argument("--user", metavar="NAME", help="who acts; needed if there are several")

    def handle(self, *_args: Any, folder: Path, user: str | None, **_options: Any) -> None:
        """Load, and say how much was new."""
        acting = actor(user)
        try:
            added = _load(acting, folder, preview=True)
            if added:
                _load(acting, folder, preview=False)
        except FileNotFoundError as error:
            raise CommandError(f"There is no {error.filename}.") from error
        self.stdout.write(
            f"Loaded {added} new catalogue rows from {folder}."
            if added
            else f"The record has all of {folder} already."
        )


def _load(acting: Any, folder: Path, *, preview: bool) -> int:
    with changes.opened(
        actor=acting, at=timezone.now(), reason="Catalogue loaded", preview=preview
    ) as change:
        return catalogue.load(change, folder)
