"""What events of light come to at home terminals: lit, dark, or kept lit by another channel."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from records.queries.engine import ids, in_ids, rows

_LIT = """
SELECT feed.point_id, COUNT(*),
       MAX(CASE WHEN channel.standby_for_id IS NULL OR main.point_id IS NOT NULL
                THEN 0 ELSE 1 END)
FROM records_feed feed
JOIN records_channel channel ON channel.id = feed.channel_id
LEFT JOIN records_feed main
  ON main.point_id = feed.point_id AND main.channel_id = channel.standby_for_id
WHERE {at_terminals}
GROUP BY feed.point_id
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LightTurns:
    """The terminal ports whose light turned, each in one list at most, by id.

    Those `lit` had no light before, those `darkened` have none left. The others lost a channel
    and are lit all the same: `on_standby` where the standby of a main channel that is not there
    lights them, else `kept_lit` by another channel. Those `interrupted` had none for a while, as
    when what hangs on a splitter is moved to another.
    """

    lit: list[int]
    darkened: list[int]
    on_standby: list[int]
    kept_lit: list[int]
    interrupted: list[int]


def light_turns(events: Iterable[tuple[int, bool]]) -> LightTurns:
    """Return what events come to, right after the latest of them.

    An event is that a terminal got (True) or lost (False) the light of one channel.
    """
    gained: Counter[int] = Counter()
    lowest: Counter[int] = Counter()
    for terminal, is_lit in events:
        gained[terminal] += 1 if is_lit else -1
        lowest[terminal] = min(lowest[terminal], gained[terminal])
    now = _lit_now(gained)
    turns = LightTurns(lit=[], darkened=[], on_standby=[], kept_lit=[], interrupted=[])
    for terminal, more in sorted(gained.items()):
        channels, is_on_standby = now.get(terminal, (0, False))
        before = channels - more
        if more < 0 and not channels:
            turns.darkened.append(terminal)
        elif more < 0:
            (turns.on_standby if is_on_standby else turns.kept_lit).append(terminal)
        elif more > 0 and not before:
            turns.lit.append(terminal)
        elif before and before + lowest[terminal] <= 0:
            turns.interrupted.append(terminal)
    return turns


def _lit_now(terminals: Iterable[int]) -> dict[int, tuple[int, bool]]:
    """Return how many channels light each terminal, and whether one does for an absent main."""
    found = rows(_LIT.format(at_terminals=in_ids("feed.point_id")), [ids(terminals)])
    return {terminal: (channels, bool(standby)) for terminal, channels, standby in found}
