"""Laws of light: what is stored, what is allowed to meet, whom it serves."""

# ruff: noqa: D401 - a law is a statement

from collections.abc import Iterator
from itertools import groupby

from django.db import connection

from records.light.losses import LossMdb
from records.light.spread import Channel, Feed, source, spread
from records.models import Channel as ChannelRow
from records.queries.catalogue import clashing, light_channels
from records.queries.engine import Row, rows
from records.queries.names import named_points
from records.queries.piece import tree


def feeds_equal_a_recomputation() -> Iterator[str]:
    """Stored feeds equal a recomputation from nothing, and light finds nothing in its way."""
    for channel, stored in _stored_by_channel():
        start = source(channel)
        again = spread(tree(channel), channel, start)
        for finding in again.findings:
            yield f"Light meets a {finding.code} at {_name(finding.point)}."
        wanted = {feed.point: feed for feed in (start, *again.feeds)}
        had = {feed.point: feed for feed in stored}
        for point in sorted(wanted.keys() | had.keys()):
            if wanted.get(point) != had.get(point):
                yield (
                    f"Channel {channel.id} at {_name(point)}: stored {had.get(point)}, "
                    f"recomputed {wanted.get(point)}."
                )


def feeds_form_a_tree() -> Iterator[str]:
    """A channel comes to a point by one way only, which leads from the channel's port."""
    for channel, stored in _stored_by_channel():
        below: dict[int | None, list[int]] = {}
        for feed in stored:
            below.setdefault(feed.upstream, []).append(feed.point)
        reached = {channel.point} if below.get(None) == [channel.point] else set()
        waiting = list(reached)
        while waiting:
            for point in below.get(waiting.pop(), ()):
                reached.add(point)
                waiting.append(point)
        for feed in stored:
            if feed.point not in reached:
                yield f"Channel {channel.id} at {_name(feed.point)} comes from nowhere."


_FEED_COLUMNS = (
    "point_id, channel_id, upstream_id, leg_id, length_cm, split, "
    "down_least_mdb, down_typical_mdb, down_most_mdb, up_least_mdb, up_typical_mdb, up_most_mdb"
)


def _stored_by_channel() -> Iterator[tuple[Channel, list[Feed]]]:
    """Return all channels with their stored feeds, reading the feeds once."""
    channels = light_channels(ChannelRow.objects.values_list("pk", flat=True))
    # Chunked: the feeds of a large network don't fit in memory at once.
    with connection.chunked_cursor() as cursor:
        cursor.execute(f"SELECT {_FEED_COLUMNS} FROM records_feed ORDER BY channel_id")
        for channel, found in groupby(cursor, key=lambda row: row[1]):
            yield channels.pop(channel), [_feed(row) for row in found]
    for dark in channels.values():
        yield dark, []


def _feed(row: Row) -> Feed:
    point, channel, upstream, leg, length_cm, split, *mdb = row
    down, up = LossMdb(*mdb[:3]), LossMdb(*mdb[3:])
    return Feed(point, channel, upstream, leg, length_cm, split, down, up)


def wavelengths_meet_only_as_main_and_standby() -> Iterator[str]:
    """Channels of overlapping wavelengths share a point only as main and standby."""
    meeting: dict[int, set[int]] = {}
    for one, other in rows(
        """SELECT DISTINCT one.channel_id, other.channel_id FROM records_feed one
           JOIN records_feed other
             ON other.point_id = one.point_id AND other.channel_id > one.channel_id"""
    ):
        meeting.setdefault(one, set()).add(other)
    for channel, others in meeting.items():
        for one, other, way in clashing([channel], others):
            yield f"Channels {one} and {other} meet with the same {way} wavelength."


def light_crosses_a_joint_one_way() -> Iterator[str]:
    """Where several channels cross a joint, all cross it the same way."""
    for point, mate in rows(
        """SELECT DISTINCT one.point_id, one.upstream_id FROM records_feed one
           JOIN records_feed other
             ON other.point_id = one.upstream_id AND other.upstream_id = one.point_id
           WHERE one.point_id < one.upstream_id"""
    ):
        yield f"Light goes both ways between {_name(point)} and {_name(mate)}."


def light_and_bookings_agree() -> Iterator[str]:
    """A terminal lit below a leg has that leg's live booking; a live booking lights a terminal."""
    for terminal, leg in rows(
        """SELECT DISTINCT feed.point_id, feed.leg_id FROM records_feed feed
           JOIN records_point port ON port.id = feed.point_id AND port.role = 'terminal'
           JOIN records_equipment terminal ON terminal.id = port.equipment_id
           WHERE feed.leg_id IS NOT NULL AND NOT EXISTS (
               SELECT 1 FROM records_booking booking
               JOIN records_line line ON line.id = booking.line_id
               WHERE booking.leg_id = feed.leg_id AND booking.state = 'live'
                 AND line.place_id = terminal.place_id)"""
    ):
        yield f"{_name(terminal)} is lit from {_name(leg)} without a live booking of its dwelling."
    for leg, line in rows(
        """SELECT booking.leg_id, line.identifier FROM records_booking booking
           JOIN records_line line ON line.id = booking.line_id
           WHERE booking.state = 'live' AND NOT EXISTS (
               SELECT 1 FROM records_feed feed
               JOIN records_point port ON port.id = feed.point_id AND port.role = 'terminal'
               JOIN records_equipment terminal ON terminal.id = port.equipment_id
               WHERE feed.leg_id = booking.leg_id AND terminal.place_id = line.place_id)"""
    ):
        yield f"{_name(leg)} is live for line {line}, but lights none of its terminals."


def _name(point_id: int) -> str:
    return named_points([point_id]).get(point_id, f"point {point_id}")
