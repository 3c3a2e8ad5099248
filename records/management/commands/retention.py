"""`python3 manage.py retention`: list what has had its time, or cut it out."""

from argparse import ArgumentParser, ArgumentTypeError
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from records import changes
from records.changes import Refusal, retention
from records.management.actors import actor
from records.queries.moment import number_at
from records.queries.retention import lines_past_use, people_idle_since, sightings_before


class Command(BaseCommand):
    """List what leads to a person and has had its time; with --forget cut it out for ever."""

    help = (
        "List the outside references, scans of labels and accounts that were not needed since a "
        "day. --forget cuts out the references and who made the scans, in one change. A person's "
        "name is cut out one by one: --person NAME."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the day, what to cut out, and who acts."""
        parser.add_argument("--before", type=_day, metavar="DAY", help="such as 2024-03-01")
        parser.add_argument("--forget", action="store_true", help="cut out, for ever")
        parser.add_argument("--person", metavar="NAME", help="cut out this person's name")
        parser.add_argument("--user", metavar="NAME", help="the owner who acts")
        parser.add_argument("--reason", default="retention time is over")

    def handle(self, *_args: Any, **options: Any) -> None:
        """List, or cut out."""
        before, person = options["before"], options["person"]
        if bool(before) == bool(person):
            raise CommandError("Give either --before DAY or --person NAME.")
        if before and before > timezone.now():
            raise CommandError("That day is yet to come. Choose one that is past.")
        if before and not options["forget"]:
            self._list(before)
            return
        try:
            with changes.opened(
                actor=actor(options["user"]), reason=options["reason"], at=timezone.now()
            ) as change:
                if person:
                    retention.forget_person(change, actor(person).pk)
                else:
                    _forget(change, before)
                said = [step["words"] for step in change.steps]
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        for words in said:
            self.stdout.write(f"{words[:1].upper()}{words[1:]}.")

    def _list(self, before: datetime) -> None:
        lines, people = lines_past_use(number_at(before)), people_idle_since(before)
        self.stdout.write(f"{len(lines)} outside references of lines without a leg since then.")
        for line in lines:
            self.stdout.write(f"  line {line}, {line.place}")
        self.stdout.write(f"{sightings_before(before)} scans of labels say who made them.")
        self.stdout.write(f"{len(people)} accounts not used since then.")
        for each in people:
            self.stdout.write(f"  {each.get_username()}")


def _forget(change: changes.OpenChange, before: datetime) -> None:
    lines, scans = lines_past_use(number_at(before)), sightings_before(before)
    if not lines and not scans:
        raise CommandError("Nothing from before then is left to cut out.")
    for line in lines:
        retention.forget_outside_ref(change, line.pk)
    if scans:
        retention.forget_sightings(change, seen_before=before)


def _day(text: str) -> datetime:
    try:
        return datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError as error:
        raise ArgumentTypeError(f"'{text}' is no day such as 2024-03-01.") from error
