"""Suppose another class, splitter or attenuator, and spread light through the plant again.

Nothing is estimated: the same spreading that keeps the record goes through a piece of plant in
which some entries are others. With nothing supposed the result is the record, to the last digit.
"""

from collections.abc import Iterable, Sequence
from math import prod

from records.light.losses import NO_LOSS, Band, Entry, LossMdb
from records.light.plant import Piece
from records.light.spread import Channel, Feed, source, spread

ROW_ID, BRIDGE_ID = -1, -2
"""Entries that no catalogue has."""


def supposed_feeds(
    piece: Piece, channel: Channel, points: Iterable[int], *, attenuator: Entry | None = None
) -> dict[int, Feed]:
    """Return the feeds that a channel would bring to some points, but for those it can't reach.

    An attenuator is supposed on the way to each; where on the way makes no difference to a sum.
    """
    extra = _both_ways(attenuator, channel)
    if extra is None:
        return {}
    down, up = extra
    wanted = set(points)
    return {
        feed.point: feed._replace(down=feed.down.plus(down), up=feed.up.plus(up))
        for feed in spread(piece, channel, source(channel)).feeds
        if feed.point in wanted
    }


def _both_ways(attenuator: Entry | None, channel: Channel) -> tuple[LossMdb, LossMdb] | None:
    if attenuator is None:
        return NO_LOSS, NO_LOSS
    down, up = attenuator.loss(channel.down_nm, 0), attenuator.loss(channel.up_nm, 0)
    return None if down is None or up is None else (down, up)


def in_a_row(splitters: Sequence[Entry], pair: Entry, wavelengths_nm: Iterable[int]) -> Entry:
    """Return one splitter that stands for several, each mated to the next by such a pair."""
    bands = []
    for nm in sorted(set(wavelengths_nm)):
        losses = [splitter.loss(nm, 1) for splitter in splitters]
        losses += [pair.loss(nm, 0)] * (len(splitters) - 1)
        total = _total(losses)
        if total is not None:
            bands.append(Band(None, nm, nm, total))
    legs = prod(splitter.outputs for splitter in splitters)
    return Entry(ROW_ID, "splitter", splitters[0].inputs, legs, tuple(bands))


def bridge(wavelengths_nm: Iterable[int]) -> Entry:
    """Return what stands where a splitter is taken out: no loss, no division.

    What joined the splitter on both sides stays, so this is rather too much loss than too little.
    """
    bands = tuple(Band(None, nm, nm, NO_LOSS) for nm in sorted(set(wavelengths_nm)))
    return Entry(BRIDGE_ID, "splitter", 1, 1, bands)


def _total(losses: Iterable[LossMdb | None]) -> LossMdb | None:
    total = NO_LOSS
    for loss in losses:
        if loss is None:
            return None
        total = total.plus(loss)
    return total
