"""What machines of random changes share: each change previewed, refused for nothing, lawful."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.test import TestCase
from hypothesis import Phase, event, note, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    run_state_machine_as_test,
)

from records.changes import OpenChange, Refusal
from records.models import Channel, Feed, Point
from records.queries import _laws_of_history
from records.queries.invariants import INVARIANTS, broken
from records.queries.names import named_points
from tests.factories import Plant, opened
from tests.second_opinion import expected_light, stored_light, stored_network
from tests.unchanged import nothing_written

LAWS = [law for law in INVARIANTS if law is not _laws_of_history.changes_are_as_sealed]
"""The laws to hold after each step; the chain is walked from its beginning, so at the end only."""

LOSSES_DB = st.integers(0, 25_000).map(lambda mdb: mdb / 1000)
LENGTHS_M = st.integers(0, 500_000).map(lambda cm: cm / 100)


class Machine(RuleBasedStateMachine):
    """A crew on a small plant, each of its changes previewed first and undone at the end."""

    plant_text = ""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0
        self.atomics = TestCase._enter_atomics()  # type: ignore[attr-defined]

    def teardown(self) -> None:
        try:
            assert list(broken()) == []
        finally:
            TestCase._rollback_atomics(self.atomics)  # type: ignore[attr-defined]

    @initialize(data=st.data())
    def start(self, data: st.DataObject) -> None:
        self.plant = Plant(self.plant_text)
        self.begin(data)

    def begin(self, data: st.DataObject) -> None:
        """Do what comes before the random changes."""

    def make(self, do: Callable[[OpenChange], Any], **options: Any) -> Any:
        """Preview a change, then commit it: both must come to the same, a refusal to nothing.

        Returns the refusal's code; empty if there was none.
        """
        with nothing_written():
            previewed = self._outcome(do, preview=True, **options)
        if isinstance(previewed, str):
            with nothing_written():
                committed = self._outcome(do, preview=False, **options)
        else:
            committed = self._outcome(do, preview=False, **options)
        note(f"  -> {committed}")
        assert committed == previewed
        return committed.partition(":")[0] if isinstance(committed, str) else ""

    def _outcome(self, do: Callable[[OpenChange], Any], **options: Any) -> Any:
        try:
            with opened(**options) as change:
                do(change)
                told = change.effect()
                # By name: what a preview creates gets other ids when it is made for good.
                for what in [each for each in told if each.startswith("terminals_")]:
                    told[what] = sorted(named_points(told[what]).values())
                told["bookings"] = sorted(f"{e.get('line')} {e['what']}" for e in told["bookings"])
        except Refusal as refusal:
            return f"{refusal.code}: {refusal}"
        for verb in sorted({step["verb"] for step in told["steps"]}):
            event(f"did {verb}")
        return told

    def name(self, letter: str) -> str:
        self.count += 1
        return f"{letter}{self.count}"

    # --- Laws ----------------------------------------------------------------------------------

    @invariant()
    def laws_hold(self) -> None:
        assert list(broken(LAWS)) == []

    @invariant()
    def light_is_as_a_second_opinion_has_it(self) -> None:
        network = stored_network()
        for channel in Channel.objects.values_list("pk", flat=True):
            assert stored_light(channel) == expected_light(channel, network)

    @invariant()
    def no_feed_is_without_a_channel(self) -> None:
        assert not Feed.objects.exclude(channel__in=Channel.objects.all()).exists()


def free(**conditions: Any) -> QuerySet[Point]:
    """Return points that no joint holds."""
    return Point.objects.filter(joint_end=None, **conditions)


def one(data: st.DataObject, things: QuerySet[Any], column: str = "pk") -> Any:
    """Return the key of one of these things; None if there is none."""
    keys = list(things.order_by(column).values_list(column, flat=True))
    return data.draw(st.sampled_from(keys)) if keys else None


def run(machine: type[Machine], *, examples: int) -> None:
    """Run a machine as often as the profile says, but for at most so many examples."""
    fewer = settings(
        max_examples=min(settings.default.max_examples, examples),
        phases=[each for each in Phase if each is not Phase.explain],
    )
    run_state_machine_as_test(machine, settings=fewer)
