"""A piece of plant as light meets it: points, the passages between them, the joints.

Light alternates: across a joint, through a passage, across a joint. `Crossing` is one way through
a passage, `Mate` one way across a joint; a piece knows both ways of each.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from records.light.losses import NO_LOSS, Entries, LossMdb, measured

LEG, INPUT, PON, TERMINAL = "leg", "input", "pon", "terminal"

# A class states launch and sensitivity on the fibre side of the transceiver's own connector, so
# mating into an OLT or terminal port adds nothing (ITU-T G.652 Appendix I: equipment connectors
# are not part of the link).
_TRANSCEIVERS = frozenset({PON, TERMINAL})


class Spot(NamedTuple):
    """A point of the plant. `side` is its side of the passage; lone ports have none."""

    id: int
    role: str
    number: int = 0
    passage: int | None = None
    side: int = 0
    measured_mdb: int | None = None


class Passage(NamedTuple):
    """What light goes through: a fibre, adapter, splitter, attenuator or coupler."""

    id: int
    entry: int
    length_cm: int = 0
    measured_mdb: int | None = None


class Joint(NamedTuple):
    """Two points made one."""

    a: int
    b: int
    kind: str
    entry: int
    measured_mdb: int | None = None


@dataclass(frozen=True)
class Piece:
    """Some plant and the catalogue entries it uses."""

    spots: dict[int, Spot]
    passages: dict[int, Passage]
    joints: dict[int, Joint]
    entries: Entries
    _sides: dict[tuple[int, int], list[Spot]] = field(repr=False)

    @classmethod
    def of(
        cls,
        spots: Iterable[Spot],
        passages: Iterable[Passage],
        joints: Iterable[Joint],
        entries: Entries,
    ) -> "Piece":
        """Put a piece together and index it."""
        by_id = {spot.id: spot for spot in spots}
        sides: dict[tuple[int, int], list[Spot]] = {}
        for spot in by_id.values():
            if spot.passage is not None:
                sides.setdefault((spot.passage, spot.side), []).append(spot)
        ends: dict[int, Joint] = {}
        for joint in joints:
            ends[joint.a] = ends[joint.b] = joint
        return cls(by_id, {each.id: each for each in passages}, ends, entries, sides)

    def mate(self, point: int) -> Spot | None:
        """Return the point joined to this one."""
        joint = self.joints.get(point)
        if joint is None:
            return None
        return self.spots.get(joint.b if joint.a == point else joint.a)

    def across(self, point: int) -> list[Spot]:
        """Return the points on the other side of this point's passage."""
        spot = self.spots[point]
        if spot.passage is None:
            return []
        return self._sides.get((spot.passage, 1 - spot.side), [])

    def joint_loss(self, joint: Joint, wavelength_nm: int) -> LossMdb | None:
        """Return the loss across a joint."""
        if joint.measured_mdb is not None:
            return measured(joint.measured_mdb)
        if self.has_its_pair_elsewhere(joint):
            return NO_LOSS
        return self.entries[joint.entry].loss(wavelength_nm, 0)

    def has_its_pair_elsewhere(self, joint: Joint) -> bool:
        """Tell whether the loss of a joint's two plugs is counted already.

        It stands on the adapter that they meet in, or in the class of a transceiver. Mating into
        an attenuator, a splitter or a coupler is a pair of its own: none has one inside.
        """
        if joint.kind != "mated":
            return False
        return any(self._holds_the_pair(self.spots[end]) for end in (joint.a, joint.b))

    def _holds_the_pair(self, spot: Spot) -> bool:
        if spot.passage is None:
            return spot.role in _TRANSCEIVERS
        return self.entries[self.passages[spot.passage].entry].kind == "mated"

    def passage_loss(self, enter: Spot, leave: Spot, wavelength_nm: int) -> LossMdb | None:
        """Return the loss through a passage from one point to another, None where dark."""
        branching = enter if enter.role in {LEG, "branch"} else leave
        value_mdb = branching.measured_mdb if branching.role == LEG else None
        if enter.passage is None:
            return None
        passage = self.passages[enter.passage]
        if value_mdb is None:
            value_mdb = passage.measured_mdb
        if value_mdb is not None:
            return measured(value_mdb)
        entry = self.entries[passage.entry]
        loss = entry.loss(wavelength_nm, branching.number)
        if loss is not None and entry.kind == "fibre":
            return loss.over(passage.length_cm)
        return loss

    def is_confluence(self, passage: int) -> bool:
        """Tell whether light from elsewhere may come in: a splitter or coupler with more inputs.

        Without one, what a dark point leads to is dark too: any light there would have come by it.
        """
        return self.entries[self.passages[passage].entry].inputs > 1

    def split(self, enter: Spot) -> int:
        """Return into how many parts the passage divides light that enters here."""
        if enter.role != INPUT or enter.passage is None:
            return 1
        return self.entries[self.passages[enter.passage].entry].outputs
