"""`python3 manage.py draft_job FILE`: check a sheet of steps, and draft a job of it."""

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from records import changes
from records.changes import Refusal, jobs
from records.intake import UnreadableError, job_file
from records.management import asking
from records.management.actors import actor
from records.queries.words import counted


class Command(BaseCommand):
    """Draft a job from a spreadsheet, with all of its rows or not at all."""

    help = (
        "Check a sheet, one row a step with its verb and arguments by plain names, and draft a "
        "job of it. Nothing is recorded of the network. Nobody else can record meanwhile: try a "
        f"sheet of more than {job_file.WAITED_FOR_MAX} rows in a quiet hour. Exit code 1 if the "
        "sheet has faults."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the file, and what is told of the job beside its steps."""
        parser.add_argument("file", type=Path, help="a CSV file")
        parser.add_argument("--name", required=True, help="what is to be done")
        parser.add_argument("--place", required=True, help="where, by its plain name")
        parser.add_argument("--reference", default="", help="such as the number of an order")
        parser.add_argument("--assignee", metavar="NAME", help="the user who does it")
        parser.add_argument("--due", type=asking.day, help="by when, such as 2026-03-09")
        parser.add_argument("--user", metavar="NAME", help="who acts; needed if there are several")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Check, and draft if the sheet is sound."""
        acting, now = actor(options["user"]), timezone.now()
        place = asking.place(options["place"])
        assignee = actor(options["assignee"]).pk if options["assignee"] else None
        try:
            sheet = job_file.read(options["file"].read_bytes())
            if len(sheet.rows) > job_file.WAITED_FOR_MAX:
                self._warn_of_waiting(len(sheet.rows))
            drafted = job_file.drafted(sheet, place=place, actor=acting, at=now)
            if drafted.faults:
                self._refuse(drafted)
            with changes.opened(actor=acting, at=now) as change:
                job = jobs.draft(
                    change,
                    name=options["name"],
                    place=place,
                    steps=drafted.steps,
                    reference=options["reference"],
                    assignee=assignee,
                    due_date=options["due"],
                )
        except UnreadableError as error:
            raise CommandError(f"{options['file']}: {error}") from error
        except OSError as error:
            raise CommandError(f"{options['file']}: {error.strerror}.") from error
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        for remark in drafted.remarks:
            self.stdout.write(self.style.WARNING(f"Note. {remark}"))
        told = f"Drafted job {job.pk}, {job}: {counted(len(drafted.steps), 'step')}."
        self.stdout.write(self.style.SUCCESS(told))

    def _warn_of_waiting(self, rows: int) -> None:
        """Say before a long sheet is tried that nobody else can write meanwhile."""
        words = f"Trying {rows} rows. Others can look but not record until that is done."
        self.stdout.write(self.style.WARNING(words))
        self.stdout.flush()

    def _refuse(self, drafted: job_file.Drafted) -> None:
        for fault in drafted.faults:
            self.stdout.write(str(fault))
        faults = counted(len(drafted.faults), "fault")
        self.stdout.write(self.style.ERROR(f"{faults}. Nothing was drafted."))
        sys.exit(1)
