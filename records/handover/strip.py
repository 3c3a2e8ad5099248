"""The strip of a path: the things light goes through, each with what it enters and leaves by.

A path has a hop at every point. Two points of one thing, such as the ends of a fibre or the faces
of an adapter, make one row of the strip: that is how an installer walks the way.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from records.models import Role
from records.queries.paths import Hop

JOINT = "joint"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A thing on the way. `leave` is None where the path begins or ends inside it."""

    number: int
    enter: Hop
    leave: Hop | None

    @property
    def joint(self) -> Hop | None:
        """Return the hop over the joint by which light came in."""
        return self.enter if self.enter.by_kind == JOINT else None

    @property
    def last(self) -> Hop:
        """Return the hop at which light leaves, or stays."""
        return self.leave or self.enter

    @property
    def has_leg(self) -> bool:
        """Tell whether it is left by a splitter leg."""
        return self.last.spot.role == Role.LEG


def stages(hops: Iterable[Hop]) -> Iterator[Stage]:
    """Yield the things that hops lead through, in order."""
    number = 0
    enter: Hop | None = None
    leave: Hop | None = None
    for hop in hops:
        if enter is not None and hop.by_kind == JOINT:
            yield Stage(number=number, enter=enter, leave=leave)
            enter = None
        if enter is None:
            number, enter, leave = number + 1, hop, None
        else:
            leave = hop
    if enter is not None:
        yield Stage(number=number, enter=enter, leave=leave)
