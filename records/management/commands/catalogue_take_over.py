"""`python3 manage.py catalogue_take_over`: let new versions of catalogue entries take over."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from records import changes
from records.changes import Refusal, catalogue
from records.management.actors import actor
from records.queries.take_overs import Progress, progress, take_overs


class Command(BaseCommand):
    """Move what uses an old version to the new one, some trees a change, until all is done."""

    help = (
        "Move plant from old versions of catalogue entries to the new ones and recompute its "
        "trees. It may be stopped at any moment; run it again and it goes on from there."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the user and the size of a step."""
        parser.add_argument("--user", metavar="NAME", help="who acts; needed if there are several")
        parser.add_argument(
            "--trees",
            type=int,
            default=catalogue.TREES_AT_ONCE,
            help="how many trees one change recomputes (default: %(default)s)",
        )
        parser.add_argument("--list", action="store_true", help="only tell how far each has come")

    def handle(self, *_args: Any, user: str | None, trees: int, **options: Any) -> None:
        """Run every take-over that is not done, oldest first, telling how far it is."""
        listed = take_overs()[::-1]
        if options["list"]:
            for each in listed:
                self._tell(each)
            return
        waiting = [each for each in listed if not each.is_done]
        if not waiting:
            self.stdout.write("Nothing is to be taken over.")
            return
        acting = actor(user)
        for each in waiting:
            self._run(each, acting, trees)

    def _run(self, each: Progress, acting: Any, trees: int) -> None:
        while not each.is_done:
            try:
                with changes.opened(
                    actor=acting, at=timezone.now(), reason=str(each.take_over)
                ) as change:
                    moved = catalogue.take_over(change, each.take_over.pk, trees=trees)
            except Refusal as refusal:
                raise CommandError(f"{each.take_over}: {refusal}") from refusal
            each = progress(each.take_over)
            self._tell(each)
            if not moved and not each.is_done:
                raise CommandError(f"{each.take_over}: {each.left} things could not be moved.")

    def _tell(self, each: Progress) -> None:
        self.stdout.write(
            f"{each.take_over}: {each.moved} of {each.take_over.uses} moved "
            f"({each.done_percent:.0f} %)"
        )
