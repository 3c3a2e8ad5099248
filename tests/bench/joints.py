"""A joint made and parted, a path and a find, inside networks of any size, beside raw SQL."""

import statistics
import time
from collections.abc import Callable

from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import joints
from records.models import Channel, JointEnd, Point
from records.queries import find, paths
from tests.bench.network import STRIDE
from tests.factories import opened

ROUNDS = 30

_RAW_UP = """
WITH RECURSIVE up(point_id, upstream_id) AS (
    SELECT point_id, upstream_id FROM records_feed WHERE point_id = %s
    UNION ALL
    SELECT feed.point_id, feed.upstream_id
    FROM up JOIN records_feed feed ON feed.point_id = up.upstream_id)
SELECT point.*, feed.*, equipment.name, cable.name FROM up
JOIN records_feed feed ON feed.point_id = up.point_id
JOIN records_point point ON point.id = up.point_id
LEFT JOIN records_equipment equipment ON equipment.id = point.equipment_id
LEFT JOIN records_passage passage ON passage.id = point.passage_id
LEFT JOIN records_cable cable ON cable.id = passage.cable_id
"""


def median_ms(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the median time of some work in milliseconds, after one round to warm up."""
    work()
    times = []
    for _ in range(rounds):
        started = time.perf_counter()
        work()
        times.append((time.perf_counter() - started) * 1000)
    return statistics.median(times)


def report(homes: int) -> None:
    """Print the figures for the network that stands in the database."""
    copy = homes // 32 // 2
    terminal = Point.objects.filter(role="terminal").order_by("id")[0].pk + copy * STRIDE
    port = Channel.objects.order_by("id")[0].point_id + copy * STRIDE
    print(f"\n{connection.vendor}, {homes:,} homes")
    _joint("home-side joint", terminal)
    _joint("feeder joint, 1:32", port)
    _path(terminal)
    _find(copy)


class _Joint:
    """A joint that is parted and made again, by the verbs."""

    def __init__(self, point: int) -> None:
        self.id = JointEnd.objects.get(point=point).joint_id
        self.a, self.b = (
            JointEnd.objects.filter(joint=self.id).order_by("side").values_list("point", flat=True)
        )

    def part(self) -> None:
        with opened() as change:
            joints.part(change, self.id)

    def join(self) -> None:
        with opened() as change:
            self.id = joints.join(change, self.a, self.b, kind="mated").pk

    def both(self) -> None:
        self.part()
        self.join()


def _joint(name: str, point: int) -> None:
    joint = _Joint(point)
    ours_ms = median_ms(joint.both) / 2
    queries = []
    for act in (joint.part, joint.join):
        with CaptureQueriesContext(connection) as captured:
            act()
        begun = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
        queries.append(sum(not each["sql"].startswith(begun) for each in captured))
    raw_ms = median_ms(_RawJoint(joint).both) / 2
    print(
        f"  {name}: part or join {ours_ms:.2f} ms, {queries[0]} and {queries[1]} queries; "
        f"the same rows in raw SQL {raw_ms:.2f} ms, ratio {ours_ms / raw_ms:.1f}"
    )


class _RawJoint:
    """The rows of the same joint and feeds written by raw SQL alone: no checks, no reckoning.

    What the verb would reckon is remembered; change row and history triggers are the same.
    """

    def __init__(self, joint: _Joint) -> None:
        self.joint = joint
        with connection.cursor() as cursor:
            cursor.execute(
                """WITH RECURSIVE down(point_id, channel_id) AS (
                       SELECT point_id, channel_id FROM records_feed
                       WHERE upstream_id = %s AND point_id = %s
                       UNION ALL
                       SELECT feed.point_id, feed.channel_id FROM down JOIN records_feed feed
                         ON feed.upstream_id = down.point_id)
                   SELECT feed.* FROM down JOIN records_feed feed
                     ON feed.point_id = down.point_id AND feed.channel_id = down.channel_id""",
                self._downward(),
            )
            self.columns = [column[0] for column in cursor.description]
            self.feeds = cursor.fetchall()
            cursor.execute("SELECT * FROM records_joint WHERE id = %s", [joint.id])
            self.row = cursor.fetchone()
            self.row_columns = [column[0] for column in cursor.description]

    def _downward(self) -> list[int]:
        a, b = self.joint.a, self.joint.b
        fed = Point.objects.filter(pk=b, feeds__upstream_id=a).exists()
        return [a, b] if fed else [b, a]

    def both(self) -> None:
        for act in (self._part, self._join):
            with opened(), connection.cursor() as cursor:
                act(cursor)

    def _part(self, cursor: "object") -> None:
        execute = cursor.execute  # type: ignore[attr-defined]
        execute("DELETE FROM records_jointend WHERE joint_id = %s", [self.joint.id])
        execute("DELETE FROM records_joint WHERE id = %s", [self.joint.id])
        keys = [(row[self.columns.index("point_id")],) for row in self.feeds]
        cursor.executemany("DELETE FROM records_feed WHERE point_id = %s", keys)  # type: ignore[attr-defined]

    def _join(self, cursor: "object") -> None:
        execute, many = cursor.execute, cursor.executemany  # type: ignore[attr-defined]
        execute(_insert("records_joint", self.row_columns), self.row)
        for side, point in ((1, self.joint.a), (2, self.joint.b)):
            execute(
                "INSERT INTO records_jointend (point_id, joint_id, side) VALUES (%s, %s, %s)",
                [point, self.joint.id, side],
            )
        many(_insert("records_feed", self.columns), self.feeds)


def _insert(table: str, columns: list[str]) -> str:
    marks = ", ".join(["%s"] * len(columns))
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"


def _path(terminal: int) -> None:
    def raw() -> None:
        with connection.cursor() as cursor:
            cursor.execute(_RAW_UP, [terminal])
            cursor.fetchall()

    ours_ms, raw_ms = median_ms(lambda: paths.paths(terminal)), median_ms(raw)
    print(f"  path: {ours_ms:.2f} ms; raw {raw_ms:.2f} ms, ratio {ours_ms / raw_ms:.1f}")


def _find(copy: int) -> None:
    words = f"flat 7 alder {copy} block"
    assert find.find(words), words
    print(f"  find '{words}': {median_ms(lambda: find.find(words)):.2f} ms")
