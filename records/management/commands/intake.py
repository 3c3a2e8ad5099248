"""`python3 manage.py intake FILE`: check a crew's sheet, and with --commit take it in."""

import sys
from collections.abc import Sequence
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from records import intake
from records.changes import Refusal
from records.management import asking
from records.management.actors import actor
from records.management.tables import write_table

ROWS_SHOWN = 20
FAULTS_SHOWN = 200


class Command(BaseCommand):
    """Show what a sheet would add and every fault in it; take it in with --commit."""

    help = (
        "Check a crew's sheet, one row a flat, and show what it would add. "
        "Nothing is written without --commit. Exit code 1 if the sheet has faults."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the file, the estate, the user, and each assumption."""
        asking.sheet_arguments(parser, commits="take the sheet in")
        parser.add_argument("--estate", default="", help="for rows that name none")
        assumed = parser.add_argument_group("assumptions, where the sheet is silent")
        for each in intake.assumed():
            assumed.add_argument(
                f"--{each.field.replace('_', '-')}",
                dest=f"assumed_{each.field}",
                type=type(each.value),
                default=each.value,
                help=f"{each.means} (default: {each.value or 'none'})",
                metavar="VALUE",
            )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Check, show, and commit if asked and sound."""
        plan = self._checked(options)
        self._show(plan, is_long=options["all"])
        faults = plan.faults
        if not faults and not plan.is_there_already:
            faults = self._run(plan, options)
        self._show_faults(faults, is_long=options["all"])
        if faults:
            self.stdout.write("Nothing was written.")
            sys.exit(1)

    def _checked(self, options: dict[str, Any]) -> intake.Plan:
        chosen = {
            name.removeprefix("assumed_"): value
            for name, value in options.items()
            if name.startswith("assumed_")
        }
        try:
            with options["file"].open("rb") as file:
                sheet = intake.load(file)
        except intake.UnreadableError as error:
            raise CommandError(f"{options['file']}: {error}") from error
        except OSError as error:
            raise CommandError(f"{options['file']}: {error.strerror}.") from error
        return intake.check(
            sheet, estate=options["estate"], assumptions=intake.Assumptions(**chosen)
        )

    def _run(self, plan: intake.Plan, options: dict[str, Any]) -> tuple[intake.Fault, ...]:
        """Commit, or rehearse where no commit is asked for; return what was refused."""
        acting, at = actor(options["user"]), timezone.now()
        try:
            if not options["commit"]:
                faults = intake.rehearse(plan, actor=acting, at=at, progress=self._progress)
                if not faults:
                    self.stdout.write("Sound. Nothing was written; take it in with --commit.")
                return faults
            reason = options["reason"] or f"Taken in from {options['file'].name}"
            change = intake.commit(
                plan, actor=acting, at=at, reason=reason, progress=self._progress
            )
        except intake.FaultsError as error:
            return error.faults
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(self.style.SUCCESS(f"Taken in as change {change.number}."))
        return ()

    def _progress(self, done: int, count: int) -> None:
        """Say how far it is, on a terminal only."""
        if self.stderr.isatty():
            self.stderr.write(f"\r{done} of {count} rows", ending="\n" if done == count else "")

    def _show(self, plan: intake.Plan, *, is_long: bool) -> None:
        columns = ("", "new", "there already")
        lines = [(str(each.kind), str(each.new), str(each.there)) for each in plan.counts]
        write_table(self.stdout, [columns, *lines])
        if plan.is_there_already and not plan.faults:
            self.stdout.write("The record has all of this sheet already: nothing to do.")
        elif not plan.faults:
            self._show_rows(plan.rows, is_long=is_long)
        for remark in plan.remarks:
            self.stdout.write(self.style.WARNING(f"Note. {remark}"))

    def _show_rows(self, rows: Sequence[intake.RowPlan], *, is_long: bool) -> None:
        shown = rows if is_long else rows[:ROWS_SHOWN]
        for row in shown:
            self.stdout.write(f"row {row.number}: {row.words}")
        self._more(len(rows) - len(shown), "rows")

    def _show_faults(self, faults: Sequence[intake.Fault], *, is_long: bool) -> None:
        if not faults:
            return
        self.stdout.write(self.style.ERROR(f"{len(faults)} faults:"))
        shown = faults if is_long else faults[:FAULTS_SHOWN]
        columns = ("row", "column", "value", "what is wrong", "what is allowed")
        lines = [(f.rows_said, f.column, f.value_shown, f.message, f.allowed) for f in shown]
        write_table(self.stdout, [columns, *lines])
        self._more(len(faults) - len(shown), "faults")

    def _more(self, count: int, noun: str) -> None:
        if count > 0:
            self.stdout.write(f"and {count} more {noun}; --all shows them.")
