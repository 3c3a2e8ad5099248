"""Spread light from where it is known through the plant beyond.

`spread` is the one place where feeds are computed: from a channel's port for a whole tree, from a
lit end of a new joint for what that joint lights. Both give the same feeds, digit by digit.
"""

from collections.abc import Iterator
from typing import NamedTuple

from records.light.losses import NO_LOSS, LossMdb
from records.light.plant import INPUT, LEG, PON, Piece, Spot


class Channel(NamedTuple):
    """A channel as light needs it: its port and the wavelength of each direction."""

    id: int
    point: int
    down_nm: int
    up_nm: int


class Feed(NamedTuple):
    """The light of one channel at one point; losses count from the channel's port."""

    point: int
    channel: int
    upstream: int | None
    leg: int | None
    length_cm: int
    split: int
    down: LossMdb
    up: LossMdb


class Finding(NamedTuple):
    """Why light can't go where it would: a code and the point where it shows."""

    code: str
    point: int


LOOP = "loop"
WRONG_WAY = "wrong_way"
FACING = "facing"


class Spread(NamedTuple):
    """The feeds beyond the start, in the order light reaches them, and what is wrong."""

    feeds: list[Feed]
    findings: list[Finding]


def source(channel: Channel) -> Feed:
    """Return the feed at the channel's own port."""
    return Feed(channel.point, channel.id, None, None, 0, 1, NO_LOSS, NO_LOSS)


def spread(piece: Piece, channel: Channel, start: Feed) -> Spread:
    """Compute the feeds of all points that light reaches from `start` across its joint.

    `start` is a lit point whose light comes from its own passage or that is the source itself;
    it is not among the feeds returned.
    """
    feeds: list[Feed] = []
    findings: list[Finding] = []
    seen = {start.point}
    waiting = [(start, False)]
    while waiting:
        feed, came_by_joint = waiting.pop()
        step = _through(piece, channel, feed) if came_by_joint else _over(piece, channel, feed)
        for beyond in step:
            if isinstance(beyond, Finding):
                findings.append(beyond)
            elif beyond.point in seen:
                findings.append(Finding(LOOP, beyond.point))
            else:
                seen.add(beyond.point)
                feeds.append(beyond)
                waiting.append((beyond, not came_by_joint))
    return Spread(feeds, findings)


def _over(piece: Piece, channel: Channel, feed: Feed) -> Iterator[Feed | Finding]:
    """Cross the joint at a point that light has reached through its passage."""
    mate = piece.mate(feed.point)
    if mate is None:
        return
    if mate.role == PON:
        yield Finding(FACING, mate.id)
        return
    joint = piece.joints[feed.point]
    down = piece.joint_loss(joint, channel.down_nm)
    up = piece.joint_loss(joint, channel.up_nm)
    if down is not None and up is not None:
        yield Feed(
            mate.id,
            channel.id,
            feed.point,
            feed.leg,
            feed.length_cm,
            feed.split,
            feed.down.plus(down),
            feed.up.plus(up),
        )


def _through(piece: Piece, channel: Channel, feed: Feed) -> Iterator[Feed | Finding]:
    """Go through the passage that light has entered across a joint."""
    enter = piece.spots[feed.point]
    if enter.role == LEG:
        yield Finding(WRONG_WAY, enter.id)
        return
    for leave in piece.across(enter.id):
        beyond = _beyond(piece, channel, feed, leave)
        if beyond is not None:
            yield beyond


def _beyond(piece: Piece, channel: Channel, feed: Feed, leave: Spot) -> Feed | None:
    enter = piece.spots[feed.point]
    down = piece.passage_loss(enter, leave, channel.down_nm)
    up = piece.passage_loss(enter, leave, channel.up_nm)
    if down is None or up is None or enter.passage is None:
        return None
    return Feed(
        leave.id,
        channel.id,
        enter.id,
        leave.id if leave.role == LEG else feed.leg,
        feed.length_cm + piece.passages[enter.passage].length_cm,
        feed.split * piece.split(enter),
        feed.down.plus(down),
        feed.up.plus(up),
    )


class Lead(NamedTuple):
    """Where a joint at a point leads, lit or dark, as far as the next splitters."""

    passed: list[Spot]
    splitter_points: list[Spot]

    @property
    def legs(self) -> set[int]:
        """Return the splitter legs that light could come from."""
        return {spot.id for spot in self.splitter_points if spot.role == LEG}

    @property
    def clash(self) -> Finding | None:
        """Return what light that comes from the other side would run into."""
        for leg in self.legs:
            return Finding(WRONG_WAY, leg)
        for spot in self.passed:
            if spot.role == PON:
                return Finding(FACING, spot.id)
        return None

    @property
    def is_onward(self) -> bool:
        """Tell whether a leg joined here would feed another splitter."""
        return any(spot.role == INPUT for spot in self.splitter_points)


def lead(piece: Piece, start: int) -> Lead:
    """Follow the plant from a point until it comes to splitters or ends."""
    found = Lead([], [])
    seen: set[int] = set()
    waiting = [start]
    while waiting:
        enter = piece.spots[waiting.pop()]
        if enter.id in seen:
            continue
        seen.add(enter.id)
        if enter.role in {LEG, INPUT}:
            found.splitter_points.append(enter)
            continue
        leaves = piece.across(enter.id)
        found.passed.extend((enter, *leaves))
        mates = (piece.mate(leave.id) for leave in leaves)
        waiting.extend(mate.id for mate in mates if mate is not None)
    return found
