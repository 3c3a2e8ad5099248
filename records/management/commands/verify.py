"""`python3 manage.py verify`: tell whether the record keeps its laws."""

import sys
from itertools import groupby
from typing import Any

from django.core.management.base import BaseCommand

from records.queries.invariants import INVARIANTS, broken

NAMED = 20
"""How many breaches of one law are named; the rest is counted."""


class Command(BaseCommand):
    """Check every law of the record on the live database; exit code 1 if one is broken."""

    help = "Check that the record is sound. Reads only. Exit code 1 if a law is broken."

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Print each broken law with what breaks it."""
        laws_broken = 0
        for law, findings in groupby(broken(), key=lambda finding: finding.law):
            laws_broken += 1
            self.stdout.write(self.style.ERROR(f"Broken: {law}"))
            count = 0
            for count, finding in enumerate(findings, start=1):
                if count <= NAMED:
                    self.stdout.write(f"  {finding.words}")
            if count > NAMED:
                self.stdout.write(f"  and {count - NAMED} more.")
        if laws_broken:
            self.stdout.write(f"{laws_broken} of {len(INVARIANTS)} laws are broken.")
            sys.exit(1)
        self.stdout.write(f"The record is sound: {len(INVARIANTS)} laws hold.")
