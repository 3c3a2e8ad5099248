"""A joint made and parted inside networks of any size, beside the same rows in raw SQL."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from records import changes
from records.changes import joints
from records.models import Booking, Channel, JointEnd, Point
from tests.bench.clock import beside_ms
from tests.bench.network import HOMES_A_TREE, STRIDE, big_tree
from tests.factories import AT, user

_BEGUN = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE", "SELECT pg_advisory_xact_lock")
"""What begins and ends a change: on PostgreSQL also the lock by which changes take turns."""
_WRITTEN = (
    "records_joint",
    "records_jointend",
    "records_feed",
    "records_booking",
    "records_point",
)


def report(homes: int) -> None:
    """Print the figures for the network that stands in the database."""
    copy = homes // HOMES_A_TREE // 2
    terminal = Point.objects.filter(role="terminal").order_by("id")[0].pk + copy * STRIDE
    port = Channel.objects.order_by("id")[0].point_id + copy * STRIDE
    _joint("home-side joint", terminal)
    _joint("trunk, 1:32", port)
    _joint("trunk, 1:128", big_tree())


class Joint:
    """A joint that is parted and made again, by the verbs."""

    def __init__(self, point: int) -> None:
        self.actor = user()
        self.id = JointEnd.objects.get(point=point).joint_id
        self.a, self.b = (
            JointEnd.objects.filter(joint=self.id).order_by("side").values_list("point", flat=True)
        )

    def part(self) -> None:
        with changes.opened(actor=self.actor, at=AT) as change:
            joints.part(change, self.id)

    def join(self) -> None:
        with changes.opened(actor=self.actor, at=AT) as change:
            self.id = joints.join(change, self.a, self.b, kind="mated").pk

    def both(self) -> None:
        self.part()
        self.join()


def _joint(name: str, point: int) -> None:
    joint = Joint(point)
    raw = _RawJoint(joint)
    ours_ms, raw_ms = beside_ms(joint.both, raw.both)
    part, rows = _cost(joint.part)
    join, _ = _cost(joint.join)
    print(
        f"  {name}: part or join {ours_ms / 2:.2f} ms, {part} and {join} queries, "
        f"{rows} rows parted; raw {raw_ms / 2:.2f} ms, ratio {ours_ms / raw_ms:.1f}"
    )


def _cost(act: Any) -> tuple[int, int]:
    """Return the queries of a change and the rows it wrote, as its history has them."""
    with CaptureQueriesContext(connection) as captured:
        act()
    rows = 0
    with connection.cursor() as cursor:
        cursor.execute("SELECT max(number) FROM records_change")
        number = cursor.fetchone()[0]
        for table in _WRITTEN:
            cursor.execute(f"SELECT count(*) FROM {table}_history WHERE until = %s", [number])
            rows += cursor.fetchone()[0]
    return sum(not each["sql"].startswith(_BEGUN) for each in captured), rows


class _RawJoint:
    """The rows of the same joint, written by raw SQL alone: no checks, no reckoning, no chain.

    What the verb would reckon is remembered; the change's row and the history triggers are the
    same. It works on the same tree, on a joint that is put back as it was.
    """

    def __init__(self, joint: Joint) -> None:
        self.joint = joint
        a, b = joint.a, joint.b
        downward = [a, b] if Point.objects.filter(pk=b, feeds__upstream_id=a).exists() else [b, a]
        self.feed_columns, self.feeds = _selected(
            """WITH RECURSIVE down(point_id, channel_id) AS (
                   SELECT point_id, channel_id FROM records_feed
                   WHERE upstream_id = %s AND point_id = %s
                   UNION ALL
                   SELECT feed.point_id, feed.channel_id FROM down JOIN records_feed feed
                     ON feed.upstream_id = down.point_id)
               SELECT feed.* FROM down JOIN records_feed feed
                 ON feed.point_id = down.point_id AND feed.channel_id = down.channel_id""",
            downward,
        )
        legs = Booking.objects.open().filter(leg__in=self._column("leg_id"))
        self.legs = list(legs.values_list("leg", flat=True))

    def _column(self, name: str) -> set[int]:
        place = self.feed_columns.index(name)
        return {row[place] for row in self.feeds}

    def both(self) -> None:
        columns, found = _selected("SELECT * FROM records_joint WHERE id = %s", [self.joint.id])
        self._change(self._part)
        self._change(self._join, columns, found[0])

    def _change(self, act: Any, *args: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN")
            cursor.execute(
                """INSERT INTO records_change (verb, actor_id, reason, at, sealed, effect, digest)
                   VALUES ('bench', %s, '', %s, %s, '{}', '') RETURNING number""",
                [self.joint.actor.pk, AT, False],
            )
            number = cursor.fetchone()[0]
            act(cursor, *args)
            cursor.execute(
                "UPDATE records_change SET sealed = %s WHERE number = %s", [True, number]
            )
            cursor.execute("COMMIT")

    def _part(self, cursor: Any) -> None:
        cursor.execute("DELETE FROM records_jointend WHERE joint_id = %s", [self.joint.id])
        cursor.execute("DELETE FROM records_joint WHERE id = %s", [self.joint.id])
        points = _listed(self._column("point_id"))
        cursor.execute(f"DELETE FROM records_feed WHERE point_id IN {points}")
        self._mark(cursor, "held")

    def _join(self, cursor: Any, columns: Sequence[str], row: Sequence[Any]) -> None:
        cursor.execute(_insert("records_joint", columns), row)
        ends = [[self.joint.a, self.joint.id, 1], [self.joint.b, self.joint.id, 2]]
        cursor.executemany(_insert("records_jointend", ["point_id", "joint_id", "side"]), ends)
        cursor.executemany(_insert("records_feed", self.feed_columns), self.feeds)
        self._mark(cursor, "live")

    def _mark(self, cursor: Any, state: str) -> None:
        legs = _listed(self.legs)
        cursor.execute(
            f"""UPDATE records_booking SET state = %s
                WHERE leg_id IN {legs} AND state <> 'released'""",
            [state],
        )
        cursor.execute(f"UPDATE records_point SET condition = %s WHERE id IN {legs}", [state])


def _selected(sql: str, params: Sequence[Any]) -> tuple[list[str], list[Any]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, params)
        return [column[0] for column in cursor.description], cursor.fetchall()


def _listed(numbers: Iterable[int]) -> str:
    return f"({', '.join(map(str, numbers))})"


def _insert(table: str, columns: Sequence[str]) -> str:
    marks = ", ".join(["%s"] * len(columns))
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"
