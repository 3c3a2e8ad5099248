"""`python3 manage.py chain`: tell whether changes and history are as they were sealed."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from records.queries import chain
from records.queries.chain import Break, Seal

TOLD_EVERY = 10_000
"""After how many changes the walk says how far it is."""


class Command(BaseCommand):
    """Walk the chain of changes; export its latest digest, or check one exported before."""

    help = (
        "Check that changes and history are as they were sealed. Exit code 1 at the first break. "
        "Hand over what --export writes, and sign it: --check tells later whether the record is "
        "still the one it was written from."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file to write to or to compare with."""
        files = parser.add_mutually_exclusive_group()
        files.add_argument(
            "--export", metavar="FILE", help="write number, digest and date as JSON; - for stdout"
        )
        files.add_argument("--check", metavar="FILE", help="compare with a file written before")

    def handle(self, *_args: Any, export: str | None, check: str | None, **_options: Any) -> None:
        """Walk, then export or compare."""
        seal = _read(Path(check)) if check else None
        self._tell(chain.first_break(progress=self._progress))
        if seal:
            self._tell(chain.differs_from(seal))
            self.stderr.write(f"It is the record whose change {seal.number} was written down.")
        if export:
            self._export(export)

    def _progress(self, number: int) -> None:
        if number % TOLD_EVERY == 0:
            self.stderr.write(f"Whole up to change {number}.")

    def _tell(self, found: Break | None) -> None:
        if found is not None:
            self.stderr.write(self.style.ERROR(f"Broken at change {found.number}: {found.words}"))
            sys.exit(1)
        latest = chain.latest_seal()
        self.stderr.write(f"The chain is whole, up to change {latest.number if latest else 0}.")

    def _export(self, file: str) -> None:
        latest = chain.latest_seal()
        if latest is None:
            raise CommandError("There is no change yet, so there is nothing to hand over.")
        told = {
            "number": latest.number,
            "digest": latest.digest,
            "date": timezone.now().isoformat(timespec="seconds"),
        }
        text = json.dumps(told, indent=2) + "\n"
        if file == "-":
            self.stdout.write(text, ending="")
            return
        try:
            Path(file).write_text(text, encoding="utf-8")
        except OSError as error:
            raise CommandError(f"{file} can't be written: {error.strerror}.") from error


def _read(path: Path) -> Seal:
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        return Seal(number=int(told["number"]), digest=str(told["digest"]))
    except OSError as error:
        raise CommandError(f"{path} can't be read: {error.strerror}.") from error
    except (ValueError, KeyError, TypeError) as error:
        raise CommandError(
            f"{path} holds no number and digest. Give a file that --export wrote."
        ) from error
