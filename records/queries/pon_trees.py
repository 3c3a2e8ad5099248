"""A PON port's tree as a whole: its homes, nearest and furthest, how far its light is divided.

The limits on a tree stand in the class: reach, differential reach, split. One that breaks them is
told at its port; the homes that break them have the verdict too (`Lit.down_verdicts`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from records.models import Channel, ClassDirection, Direction
from records.optics import verdicts
from records.optics.classes import OpticalClass
from records.optics.verdicts import Verdict
from records.queries.citations import Citation, cited, confirmations
from records.queries.levels import optical_classes
from records.queries.names import named_points
from records.queries.spans import Home, Span, spans


@dataclass(frozen=True, slots=True, kw_only=True)
class PonTree:
    """One channel of a PON port with what hangs from it; no home is near or far without any."""

    channel_id: int
    port_id: int
    optical_class: OpticalClass
    is_standby: bool
    terminals: int
    nearest: Home | None
    furthest: Home | None
    split: int

    @property
    def name(self) -> str:
        """Return the class, and whether this is the standby."""
        standby = ", standby" if self.is_standby else ""
        return f"{self.optical_class.system} {self.optical_class.name}{standby}"

    @property
    def apart_m(self) -> float | None:
        """Return by how much more fibre the furthest home has than the nearest."""
        if self.nearest is None or self.furthest is None:
            return None
        return self.furthest.fibre_m - self.nearest.fibre_m

    def verdicts(self, under: OpticalClass | None = None) -> tuple[Verdict, ...]:
        """Return what is wrong with the tree as a whole, under its own class or another."""
        if self.nearest is None or self.furthest is None:
            return ()
        judged_by = under or self.optical_class
        nearest_m, furthest_m = self.nearest.fibre_m, self.furthest.fibre_m
        return (
            *verdicts.tree_verdicts(judged_by, nearest_m=nearest_m, furthest_m=furthest_m),
            *verdicts.path_verdicts(judged_by, fibre_m=furthest_m, split=self.split),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedHome:
    """A home at an end of a tree, and what its port is called."""

    home: Home
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldTree:
    """A tree with the names of its nearest and furthest home, and where its limits stand."""

    tree: PonTree
    nearest: NamedHome | None
    furthest: NamedHome | None
    limits: Citation


def pon_trees(channel_ids: Iterable[int]) -> list[PonTree]:
    """Return the trees of some channels with a fixed number of queries, in the order of ids."""
    return _trees(_channels(channel_ids))


def _channels(channel_ids: Iterable[int]) -> list[Channel]:
    return list(Channel.objects.filter(pk__in=set(channel_ids)).order_by("pk"))


def _trees(channels: Sequence[Channel]) -> list[PonTree]:
    classes = optical_classes(each.optical_class_id for each in channels)
    known = spans(each.pk for each in channels)
    return [_tree(each, classes[each.optical_class_id], known) for each in channels]


def _tree(channel: Channel, of_class: OpticalClass, known: dict[int, Span]) -> PonTree:
    span = known.get(channel.pk)
    return PonTree(
        channel_id=channel.pk,
        port_id=channel.point_id,
        optical_class=of_class,
        is_standby=channel.standby_for_id is not None,
        terminals=span.homes if span else 0,
        nearest=span.nearest if span else None,
        furthest=span.furthest if span else None,
        split=span.split if span else 1,
    )


def told_trees(channel_ids: Iterable[int]) -> list[ToldTree]:
    """Return trees with the names of their ends and the source of their limits."""
    channels = _channels(channel_ids)
    trees = _trees(channels)
    ends = {home for tree in trees for home in (tree.nearest, tree.furthest) if home}
    names = named_points(home.point_id for home in ends)
    named = {home: NamedHome(home=home, name=names[home.point_id]) for home in ends}
    limits = _limits(channels)
    return [
        ToldTree(
            tree=tree,
            nearest=named[tree.nearest] if tree.nearest else None,
            furthest=named[tree.furthest] if tree.furthest else None,
            limits=limits[tree.channel_id],
        )
        for tree in trees
    ]


def _limits(channels: Sequence[Channel]) -> dict[int, Citation]:
    """Return where the limits of each channel's class stand: in the class's row for down."""
    of_class = {each.pk: each.optical_class_id for each in channels}
    found = ClassDirection.objects.filter(
        direction=Direction.DOWN, optical_class__in=set(of_class.values())
    )
    rows = {row.optical_class_id: row for row in found}
    confirmed = confirmations("class_direction", (row.pk for row in rows.values()))
    return {
        channel: cited(rows[class_id], confirmed.get(rows[class_id].pk))
        for channel, class_id in of_class.items()
    }
