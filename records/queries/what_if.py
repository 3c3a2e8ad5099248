"""The same homes under another class, splitter or attenuator, without touching the record."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from records.light.spread import Feed
from records.light.what_if import supposed_feeds
from records.optics.classes import OpticalClass
from records.optics.levels import launch_level
from records.optics.verdicts import Verdict
from records.queries._supposing import Scene, Supposition, scene
from records.queries.levels import Lit, lit_at, loss_of
from records.queries.lit_piece import lit_piece
from records.queries.pon_trees import PonTree, pon_trees
from records.queries.receivers import Receiver

__all__ = ["Outlook", "Port", "Supposition", "WhatIf", "what_if"]

NO_SUCH_LEG = "its leg does not exist on the splitter supposed"
NOT_PASSED = "something on the way does not pass {down_nm} and {up_nm} nm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """One channel at one home, now and as supposed; `why_dark` says why `then` is None."""

    receiver: Receiver
    now: Lit
    then: Lit | None
    why_dark: str

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """Return what would be wrong, down and up."""
        return _verdicts(self.then) if self.then else ()

    @property
    def fails(self) -> bool:
        """Tell whether anything would be wrong."""
        return self.then is None or bool(self.verdicts)

    @property
    def fails_now(self) -> bool:
        """Tell whether anything is wrong as it stands."""
        return bool(_verdicts(self.now))

    @property
    def short_db(self) -> float:
        """Return by how much it would fail at most, in dB; 0 where no level or loss is wrong."""
        in_db = (verdict.excess for verdict in self.verdicts if verdict.unit in {"dB", "dBm"})
        return max(in_db, default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """A PON port's channel as supposed: what would be wrong with its tree as a whole.

    `legs_short` is how many homes would be left without a leg.
    """

    tree: PonTree
    optical_class: OpticalClass
    verdicts: tuple[Verdict, ...]
    legs_short: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """All homes asked about, and the PON ports they hang from."""

    outlooks: tuple[Outlook, ...]
    ports: tuple[Port, ...]

    @property
    def home_count(self) -> int:
        """Return how many homes were asked about, each once whatever comes to it."""
        return len({each.receiver.point_id for each in self.outlooks})

    @property
    def failing_home_count(self) -> int:
        """Return how many homes would fail in at least one channel."""
        return len({each.receiver.point_id for each in self.outlooks if each.fails})

    @property
    def failing_now_count(self) -> int:
        """Return how many homes fail in at least one channel as it stands."""
        return len({each.receiver.point_id for each in self.outlooks if each.fails_now})

    @property
    def failing(self) -> tuple[Outlook, ...]:
        """Return the homes that would fail, dark ones first, then by how much."""
        failing = (each for each in self.outlooks if each.fails)
        return tuple(sorted(failing, key=lambda each: (each.then is not None, -each.short_db)))


def what_if(receivers: Sequence[Receiver], supposing: Supposition) -> WhatIf:
    """Return what some homes would get if it were so, with a fixed number of queries."""
    by_point = {each.point_id: each for each in receivers}
    order = {point: number for number, point in enumerate(by_point)}
    now = sorted(lit_at(by_point), key=lambda lit: order[lit.point_id])
    supposed = scene(lit_piece(by_point), now, supposing)
    feeds = {
        number: supposed_feeds(supposed.piece, channel, by_point, attenuator=supposed.attenuator)
        for number, channel in supposed.channels.items()
    }
    trees = {tree.channel_id: tree for tree in pon_trees(supposed.channels)}
    outlooks = []
    for lit in now:
        receiver, feed = by_point[lit.point_id], feeds[lit.channel_id].get(lit.point_id)
        nearest = trees[lit.channel_id].nearest
        beside = replace(lit, nearest_m=nearest.fibre_m if nearest else None)
        outlooks.append(_outlook(receiver, beside, feed, supposed))
    return WhatIf(
        outlooks=tuple(outlooks), ports=tuple(_ports(outlooks, trees.values(), supposed))
    )


def _outlook(receiver: Receiver, now: Lit, feed: Feed | None, supposed: Scene) -> Outlook:
    why_dark = ""
    if receiver.point_id in supposed.cut_off:
        why_dark = NO_SUCH_LEG
    elif feed is None:
        channel = supposed.channels[now.channel_id]
        why_dark = NOT_PASSED.format(down_nm=channel.down_nm, up_nm=channel.up_nm)
    then = None
    if feed is not None and not why_dark:
        then = _then(now, feed, supposed.classes.get(now.channel_id))
    return Outlook(receiver=receiver, now=now, then=then, why_dark=why_dark)


def _then(now: Lit, feed: Feed, under: OpticalClass | None) -> Lit:
    """Return the light as supposed; a measured launch holds for the class it was measured of."""
    optical_class = under or now.optical_class
    launch = launch_level(under.down) if under else now.launch
    down_loss, up_loss = loss_of(feed.down), loss_of(feed.up)
    return replace(
        now,
        optical_class=optical_class,
        fibre_m=feed.length_cm / 100,
        split=feed.split,
        down_loss=down_loss,
        up_loss=up_loss,
        launch=launch,
        level=launch - down_loss,
        up_level=launch_level(optical_class.up) - up_loss,
    )


def _ports(
    outlooks: Sequence[Outlook], trees: Iterable[PonTree], supposed: Scene
) -> Iterator[Port]:
    for tree in trees:
        homes = [each for each in outlooks if each.now.channel_id == tree.channel_id]
        under = supposed.classes.get(tree.channel_id, tree.optical_class)
        splits = [each.then.split for each in homes if each.then]
        as_supposed = replace(tree, split=max(splits, default=tree.split))
        needed = max(tree.terminals, len(homes))
        yield Port(
            tree=as_supposed,
            optical_class=under,
            verdicts=as_supposed.verdicts(under),
            legs_short=max(0, needed - (supposed.legs or needed)),
        )


def _verdicts(lit: Lit) -> tuple[Verdict, ...]:
    return (*lit.down_verdicts, *lit.up_verdicts)
