"""`python3 manage.py pack "Block A" --output block-a.pdf`: write the as-built pack of a place."""

from argparse import ArgumentParser
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.changes import Refusal
from records.handover.pack.document import as_built_pack
from records.handover.pack.told import Asked
from records.management import asking
from records.models import Place
from records.queries.moment import as_it_stood


class Command(BaseCommand):
    """Write the pack that is handed over for a place."""

    help = (
        "Write the as-built pack of a place as a PDF, as the place stands or stood. Homes go by "
        "their lines unless --addresses is given."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the place, the moment, the form and the file."""
        moment = "a day, a time or the number of a change"
        parser.add_argument("place", help="where, by its plain name or its number")
        parser.add_argument("--at", help=f"as it stood: {moment}")
        parser.add_argument("--since", help=f"list the changes since: {moment}")
        parser.add_argument("--addresses", action="store_true", help="the owner's own copy")
        parser.add_argument(
            "--for", dest="asked_by", default="", help="who asked, for the owner's own copy"
        )
        parser.add_argument("--output", type=Path, help="the file; usually named by itself")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Make the pack, and write it."""
        if options["asked_by"] and not options["addresses"]:
            raise CommandError("--for stands on a copy with addresses: give --addresses as well.")
        place = asking.place(options["place"])
        at, since = asking.moment(options["at"]), asking.moment(options["since"])
        asked = Asked(
            has_addresses=options["addresses"], asked_by=options["asked_by"], since=since
        )
        try:
            with as_it_stood(at) if at is not None else nullcontext():
                pack = as_built_pack(Place.objects.get(pk=place), asked)
        except Place.DoesNotExist as error:
            raise CommandError(f"There was no such place at {options['at']}.") from error
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        path = options["output"] or Path(pack.name)
        try:
            path.write_bytes(pack.content)
        except OSError as error:
            raise CommandError(f"{path} can't be written: {error.strerror}.") from error
        self.stdout.write(self.style.SUCCESS(f"Wrote {path}."))
