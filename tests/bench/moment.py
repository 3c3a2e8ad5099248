# ruff: noqa: PLC0415 - imports wait for Django
"""The past beside the present, and what history and chain add to a joint.

python -m tests.bench.moment
"""

from collections.abc import Callable


def report() -> None:
    """Print the figures for the network that stands in the database."""
    from django.db import connection

    print(f"\n{connection.vendor}, the past and its keeping")
    _past()
    _keeping()


def _past() -> None:
    from records.models import Change, Place, Point
    from records.queries.buildings import building
    from records.queries.moment import as_it_stood
    from records.queries.paths import paths
    from tests.bench.clock import median_ms

    terminal = Point.objects.filter(role="terminal").order_by("pk")[0].pk
    block = Place.objects.get(name="Block 0")
    number = Change.objects.latest("number").number - 1
    for name, ask in (
        ("path", lambda: paths(terminal)),
        ("building of 32 homes", lambda: building(block)),
    ):

        def then(ask: Callable[[], object] = ask) -> None:
            with as_it_stood(number):
                ask()

        live_ms, past_ms = median_ms(ask), median_ms(then)
        print(
            f"  {name}: {live_ms:.2f} ms now, {past_ms:.2f} ms then, ratio {past_ms / live_ms:.2f}"
        )


def _keeping() -> None:
    """Make and part a joint with history and chain, with history alone, and with neither."""
    from unittest.mock import patch

    from records.models import Channel, Point
    from tests.bench.clock import median_ms
    from tests.bench.joints import Joint
    from tests.guards import guards_off, guards_on, run_sql

    points = {
        "home-side joint": Point.objects.filter(role="terminal").order_by("pk")[0].pk,
        "feeder joint, 1:32": Channel.objects.order_by("pk")[0].point_id,
    }
    for name, point in points.items():
        joint = Joint(point)
        kept_ms = median_ms(joint.both) / 2
        with patch("records.changes._transaction.chain.digest", lambda _: "x"):
            history_ms = median_ms(joint.both) / 2
            run_sql(guards_off())
            bare_ms = median_ms(joint.both) / 2
            run_sql(guards_on())
        print(
            f"  {name}: {bare_ms:.2f} ms without either, {history_ms:.2f} ms with history, "
            f"{kept_ms:.2f} ms with history and chain, ratio {kept_ms / bare_ms:.2f}"
        )


if __name__ == "__main__":
    from tests.bench.database import in_a_network

    in_a_network(report)
