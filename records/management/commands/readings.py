"""`python3 manage.py readings FILE`: show what a meter's file says; record it with --commit."""

import sys
from collections.abc import Sequence
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from records.changes import Refusal
from records.intake import Fault, FaultsError, UnreadableError, meter_file
from records.management import asking
from records.management.actors import actor
from records.management.tables import write_table

SHOWN = 200
THERE_ALREADY = "The record has all of these readings already: nothing to do."


class Command(BaseCommand):
    """Show each reading of a file with its verdict; record them with --commit."""

    help = (
        "Check a CSV file of readings, one a row, and show each with what the record expects. "
        "Nothing is written without --commit. Exit code 1 if the file has faults."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the file and the user."""
        asking.sheet_arguments(parser, commits="record the readings")
        parser.add_argument(
            "--decimal-commas", action="store_true", help="the file writes decimals with a comma"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Check, show, and commit if asked and sound."""
        acting, at = actor(options["user"]), timezone.now()
        plan = self._checked(options, acting, at)
        shown = None if options["all"] else SHOWN
        faults = plan.faults
        if not faults:
            self._show(plan, shown)
            faults = self._commit(plan, options, acting, at)
        if faults:
            self._show_faults(faults, shown)
            self.stdout.write("Nothing was written.")
            sys.exit(1)

    def _checked(self, options: dict[str, Any], acting: Any, at: Any) -> meter_file.MeterPlan:
        try:
            with options["file"].open("rb") as file:
                sheet = meter_file.load(file)
        except UnreadableError as error:
            raise CommandError(f"{options['file']}: {error}") from error
        except OSError as error:
            raise CommandError(f"{options['file']}: {error.strerror}.") from error
        return meter_file.check(
            sheet, actor=acting, at=at, has_decimal_commas=options["decimal_commas"]
        )

    def _commit(
        self, plan: meter_file.MeterPlan, options: dict[str, Any], acting: Any, at: Any
    ) -> tuple[Fault, ...]:
        """Commit if asked; return what was refused."""
        if plan.is_there_already:
            self.stdout.write(THERE_ALREADY)
            return ()
        if not options["commit"]:
            self.stdout.write("Sound. Nothing was written; record it with --commit.")
            return ()
        reason = options["reason"] or f"Readings from {options['file'].name}"
        try:
            taken = meter_file.commit(plan, actor=acting, at=at, reason=reason)
        except FaultsError as error:
            return error.faults
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        if taken.change is None:
            self.stdout.write(THERE_ALREADY)
        else:
            self.stdout.write(self.style.SUCCESS(f"Recorded as change {taken.change.number}."))
        return ()

    def _show(self, plan: meter_file.MeterPlan, shown: int | None) -> None:
        columns = ("row", "where", "nm", "level", "verdict", "against typical", "last good")
        write_table(self.stdout, [columns, *map(_cells, plan.rows[:shown])])
        self._more(len(plan.rows) - len(plan.rows[:shown]), "rows")
        for row in plan.rows:
            if row.judged.caution:
                self.stdout.write(self.style.WARNING(f"Row {row.number}: {row.judged.caution}."))
        for remark in plan.remarks:
            self.stdout.write(self.style.WARNING(f"Note. {remark}"))

    def _show_faults(self, faults: Sequence[Fault], shown: int | None) -> None:
        noun = "fault" if len(faults) == 1 else "faults"
        self.stdout.write(self.style.ERROR(f"{len(faults)} {noun}:"))
        columns = ("row", "column", "value", "what is wrong", "what is allowed")
        lines = [(f.rows_said, f.column, f.value_shown, f.message, f.allowed) for f in faults]
        write_table(self.stdout, [columns, *lines[:shown]])
        self._more(len(lines) - len(lines[:shown]), "faults")

    def _more(self, count: int, noun: str) -> None:
        if count > 0:
            self.stdout.write(f"and {count} more {noun}; --all shows them.")


def _cells(row: meter_file.MeterRow) -> tuple[str, ...]:
    judged, reading = row.judged, row.reading
    level = "nothing" if judged.level_dbm is None else f"{judged.level_dbm:.2f} dBm"
    difference_db = judged.verdict.difference_db
    good = judged.last_good
    return (
        str(row.number),
        row.point_name,
        f"{reading.wavelength_nm} {reading.direction}",
        level,
        "there already" if row.is_there_already else str(judged.verdict.outcome),
        "" if difference_db is None else f"{difference_db:+.2f} dB",
        f"{judged.last_good_dbm:.2f} dBm, {good.taken_at:%Y-%m-%d %H:%M}" if good else "",
    )
