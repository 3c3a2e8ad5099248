"""What was exported while random changes ran is exported again of those moments."""

from typing import Any

import pytest
from hypothesis import Phase, settings
from hypothesis.stateful import invariant, run_state_machine_as_test

from records.handover.exports.files import WHAT, export
from records.models import Change, Place
from records.queries.moment import as_it_stood
from tests.changes.test_stateful import Crew


class Exporter(Crew):
    """A crew that tries anything anywhere, and takes every file of the estate between."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: dict[int, Any] = {}

    @invariant()
    def remember(self) -> None:
        number = Change.objects.filter(sealed=True).latest("number").number
        if number not in self.seen:
            self.seen[number] = self._files()

    def _files(self) -> dict[tuple[str, bool], Any]:
        estate = Place.objects.get(pk=self.plant.estate)
        found = {}
        for what in WHAT:
            for has_addresses in (True, False):
                document = export(estate, what, has_addresses=has_addresses)
                text = "".join(document.csv())
                found[what, has_addresses] = (text, document.left_out, document.assumed)
        return found

    def teardown(self) -> None:
        try:
            for number, seen in self.seen.items():
                with as_it_stood(number):
                    assert self._files() == seen, f"after change {number}"
        finally:
            super().teardown()


@pytest.mark.django_db
def test_a_file_of_a_past_moment_is_the_file_that_was_taken_then():
    # Not shrunk: each example takes seconds, and the change at fault is named.
    phases = (Phase.explicit, Phase.reuse, Phase.generate)
    told = settings(max_examples=3, stateful_step_count=25, phases=phases, deadline=None)
    run_state_machine_as_test(Exporter, settings=told)
