"""How many things of a place have a label, and which labels are to be replaced or looked for."""

from collections.abc import Sequence
from dataclasses import dataclass

from labels.standing import Standing, State

PORTS = frozenset({"port", "leg"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """How many things of a place have a label, and how many labels were seen."""

    things: int
    labelled: int
    stale: int
    missing: int
    unrecorded: int
    ports: int
    ports_without: int
    coded: int
    never_seen: int

    @property
    def needed(self) -> int:
        """Return how many labels need printing."""
        return self.stale + self.missing


def counted(found: Sequence[Standing]) -> list[Standing]:
    """Return the labels that are counted.

    Whether a caution belongs somewhere is the assessor's to say, so none is missed.
    """
    return [each for each in found if each.item.kind != "caution" or each.printed]


def coverage(found: Sequence[Standing]) -> Coverage:
    """Return the counts of labels that are `counted`."""
    states = [each.state for each in found]
    ports = [each for each in found if each.item.what in PORTS]
    return Coverage(
        things=len(found),
        labelled=len(found) - states.count(State.MISSING),
        stale=states.count(State.STALE),
        missing=states.count(State.MISSING),
        unrecorded=states.count(State.UNRECORDED),
        ports=len(ports),
        ports_without=sum(each.state == State.MISSING for each in ports),
        coded=sum(bool(each.item.code) for each in found),
        never_seen=sum(each.is_never_seen for each in found),
    )
