"""A PON port's tree as a whole: its homes, nearest and furthest, how far its light is divided."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.optics import verdicts
from records.optics.classes import OpticalClass
from records.optics.verdicts import Verdict
from records.queries.engine import ids, in_ids, rows
from records.queries.levels import optical_classes

_SPANS = """
WITH RECURSIVE beyond(point_id, channel_id) AS (
    SELECT point_id, id FROM records_channel WHERE {channels}
    UNION ALL
    SELECT feed.point_id, feed.channel_id
    FROM beyond JOIN records_feed feed
      ON feed.upstream_id = beyond.point_id AND feed.channel_id = beyond.channel_id
)
SELECT channel.id, channel.point_id, channel.optical_class_id, COUNT(port.id),
       MIN(feed.length_cm), MAX(feed.length_cm), MAX(feed.split)
FROM records_channel channel
LEFT JOIN beyond ON beyond.channel_id = channel.id
LEFT JOIN records_point port ON port.id = beyond.point_id AND port.role = 'terminal'
LEFT JOIN records_feed feed ON feed.point_id = port.id AND feed.channel_id = channel.id
WHERE {channels_again}
GROUP BY channel.id, channel.point_id, channel.optical_class_id
ORDER BY channel.id
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PonTree:
    """One channel of a PON port with what hangs from it; lengths are None without a terminal."""

    channel_id: int
    port_id: int
    optical_class: OpticalClass
    terminals: int
    nearest_m: float | None
    furthest_m: float | None
    split: int

    def verdicts(self, under: OpticalClass | None = None) -> tuple[Verdict, ...]:
        """Return what is wrong with the tree as a whole, under its own class or another."""
        if self.nearest_m is None or self.furthest_m is None:
            return ()
        judged_by = under or self.optical_class
        return (
            *verdicts.tree_verdicts(
                judged_by, nearest_m=self.nearest_m, furthest_m=self.furthest_m
            ),
            *verdicts.path_verdicts(judged_by, fibre_m=self.furthest_m, split=self.split),
        )


def pon_trees(channel_ids: Iterable[int]) -> list[PonTree]:
    """Return the trees of some channels with one query."""
    wanted = ids(channel_ids)
    sql = _SPANS.format(channels=in_ids("id"), channels_again=in_ids("channel.id"))
    found = rows(sql, [wanted, wanted])
    classes = optical_classes(row[2] for row in found)
    return [
        PonTree(
            channel_id=channel,
            port_id=port,
            optical_class=classes[class_id],
            terminals=terminals,
            nearest_m=None if nearest_cm is None else nearest_cm / 100,
            furthest_m=None if furthest_cm is None else furthest_cm / 100,
            split=split or 1,
        )
        for channel, port, class_id, terminals, nearest_cm, furthest_cm, split in found
    ]
