"""`python3 manage.py export "Block A" --what legs`: write a file of a place."""

import sys
from argparse import ArgumentParser
from contextlib import nullcontext
from pathlib import Path
from shlex import quote
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.changes import Refusal
from records.handover.exports.files import EXPORTS, WHAT, Document, export
from records.management import asking
from records.models import Place
from records.queries.moment import as_it_stood


class Command(BaseCommand):
    """Write a place as a sheet of flats, a schedule or its readings."""

    help = (
        "Write a file of a place as CSV, as the place stands or stood, and name what the file "
        "leaves out. Homes go by their lines unless --addresses is given."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the place, the kind of file, the moment, the form and the file."""
        kinds = "; ".join(f"{each.what}: {each.means}" for each in EXPORTS)
        parser.add_argument("place", help="where, by its plain name or its number")
        parser.add_argument("--what", choices=WHAT, default="sheet", help=kinds)
        parser.add_argument(
            "--at", help="as it stood: a day, a time or the number of a change; usually now"
        )
        parser.add_argument("--addresses", action="store_true", help="the owner's own copy")
        parser.add_argument(
            "--output", type=Path, help="the file, - for the terminal; usually named by itself"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Write the file, then say what it leaves out."""
        document = self._document(options)
        if str(options["output"]) == "-":
            sys.stdout.writelines(document.csv())
            return
        path = options["output"] or Path(document.file_name)
        try:
            with path.open("w", encoding="utf-8", newline="") as file:
                file.writelines(document.csv())
        except OSError as error:
            raise CommandError(f"{path} can't be written: {error.strerror}.") from error
        rows = len(document.table.rows)
        self.stdout.write(self.style.SUCCESS(f"Wrote {path}, {rows} rows."))
        self._tell(document, path)

    def _document(self, options: dict[str, Any]) -> Document:
        place, at = asking.place(options["place"]), asking.moment(options["at"])
        try:
            with as_it_stood(at) if at is not None else nullcontext():
                return export(
                    Place.objects.get(pk=place),
                    options["what"],
                    has_addresses=options["addresses"],
                )
        except Place.DoesNotExist as error:
            raise CommandError(f"There was no such place at {options['at']}.") from error
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal

    def _tell(self, document: Document, path: Path) -> None:
        for each in document.left_out:
            self.stdout.write(
                self.style.WARNING(f"Not in it, {each.what}: {'; '.join(each.names)}")
            )
        for said in document.never:
            self.stdout.write(f"Never in it: {said}")
        if document.assumed:
            options = " ".join(
                f"--{name.replace('_', '-')} {quote(str(value))}"
                for name, value in document.assumed.items()
            )
            self.stdout.write(f"Take it in with: manage.py intake {quote(str(path))} {options}")
