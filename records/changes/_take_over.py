"""Move plant from one version of a catalogue entry to the next, some trees at a time.

What still uses the old version is what is left: nothing else is noted, so that the work may stop
anywhere and go on from there. Each batch is a change of its own, whole in itself: what moves, its
trees recomputed with it.
"""

from collections.abc import Iterable

from records.changes import _feeds, _light
from records.changes._transaction import OpenChange
from records.models import Cable, Channel, Equipment, Joint, JointEnd, Passage, Point, TakeOver
from records.queries.engine import rows

LOOKED_AT = 500
"""How many things with the old version are looked at for one batch."""

# Things with the old version by id, each with a channel that lights it, if any does.
_NEXT_PASSAGES = """
SELECT thing.id, MIN(feed.channel_id)
FROM (SELECT id FROM records_passage WHERE entry_id = %s ORDER BY id LIMIT %s) thing
JOIN records_point point ON point.passage_id = thing.id
LEFT JOIN records_feed feed ON feed.point_id = point.id
GROUP BY thing.id ORDER BY thing.id
"""
_NEXT_JOINTS = """
SELECT thing.id, MIN(feed.channel_id)
FROM (SELECT id FROM records_joint WHERE entry_id = %s ORDER BY id LIMIT %s) thing
JOIN records_jointend joint_end ON joint_end.joint_id = thing.id
LEFT JOIN records_feed feed ON feed.point_id = joint_end.point_id
GROUP BY thing.id ORDER BY thing.id
"""


def move_some(change: OpenChange, take_over: TakeOver, trees: int) -> int:
    """Move what is next, at most so many trees, and relight them. Returns how many things moved.

    Passages come first, then joints, then the cables and equipment that name the version as their
    type; what no light reaches moves by the hundred.
    """
    passages, channels = _first(_NEXT_PASSAGES, take_over, trees)
    if passages:
        return _move(change, take_over, channels, passages=passages)
    joints, channels = _first(_NEXT_JOINTS, take_over, trees)
    if joints:
        return _move(change, take_over, channels, joints=joints)
    return _rename_type(Cable, take_over) or _rename_type(Equipment, take_over)


def _first(sql: str, take_over: TakeOver, trees: int) -> tuple[set[int], set[int]]:
    """Return the first things of the old version, and their channels, until these are too many."""
    things: set[int] = set()
    channels: set[int] = set()
    for thing, channel in rows(sql, [take_over.old_id, LOOKED_AT]):
        if channel is not None and channel not in channels and len(channels) >= trees:
            break
        things.add(thing)
        channels |= set() if channel is None else {channel}
    return things, channels


def _move(
    change: OpenChange,
    take_over: TakeOver,
    channels: Iterable[int],
    *,
    passages: Iterable[int] = (),
    joints: Iterable[int] = (),
) -> int:
    """Move some things and all else on their trees, and recompute every tree this touches."""
    lit = _points_lit_by(channels)
    old, new = take_over.old_id, take_over.new_id
    on_trees = Point.objects.filter(pk__in=lit, passage__entry=old)
    moving = {*passages, *on_trees.values_list("passage_id", flat=True)}
    joined = JointEnd.objects.filter(point__in=lit, joint__entry=old)
    moving_joints = {*joints, *joined.values_list("joint_id", flat=True)}
    touched = {
        *Point.objects.filter(passage__in=moving).values_list("pk", flat=True),
        *JointEnd.objects.filter(joint__in=moving_joints).values_list("point_id", flat=True),
    }
    moved = Passage.objects.filter(pk__in=moving).update(entry=new)
    moved += Joint.objects.filter(pk__in=moving_joints).update(entry=new)
    _light.relight(change, _light.channels_at(touched))
    return moved


def _points_lit_by(channels: Iterable[int]) -> list[int]:
    ports = Channel.objects.filter(pk__in=set(channels)).values_list("pk", "point_id")
    return [feed.point for channel, port in ports for feed in _feeds.of_channel(channel, port)]


def _rename_type(owner: type[Cable] | type[Equipment], take_over: TakeOver) -> int:
    """Move the next of those that name the version as their type; their light moved before."""
    found = owner.objects.filter(entry=take_over.old_id).order_by("pk")
    ids = list(found.values_list("pk", flat=True)[:LOOKED_AT])
    return owner.objects.filter(pk__in=ids).update(entry=take_over.new_id)
