# ruff: noqa: PLC0415 - imports wait for Django
"""The explanation of a level beyond the page that shows it, beside its bare sums in numpy.

python -m tests.bench.explain
"""

from typing import Any

WANTED_MS = 5
"""What issue and design allow an explanation to cost beyond its page."""


def report() -> None:
    """Print the figures for a home in the middle of the network that stands in the database."""
    from django.db import connection

    from records.models import Point
    from records.queries.explain import explain_path
    from records.queries.paths import paths
    from tests.bench.clock import beside_ms, median_ms, own_ms

    print(f"\n{connection.vendor}, the explanation of a level")
    terminals = Point.objects.filter(role="terminal").order_by("pk")
    terminal = terminals[terminals.count() // 2].pk
    page_ms = median_ms(lambda: paths(terminal))
    (path,) = paths(terminal)
    for direction in ("down", "up"):

        def ask(direction: str = direction) -> object:
            return explain_path(path, direction)

        ours_ms, numpy_ms = beside_ms(ask, _bare(path, direction))
        print(
            f"  {direction}: {ours_ms:.2f} ms beyond the path ({page_ms:.2f} ms), of which "
            f"{own_ms(ask):.2f} ms in this process, wanted {WANTED_MS}; "
            f"numpy {numpy_ms:.4f} ms, ratio {ours_ms / numpy_ms:.0f}"
        )


def _bare(path: Any, direction: str) -> Any:
    """Return the same sums: losses after each hop, levels, and means with root-sum-squares."""
    import numpy as np

    from records.optics.statistical import SIGMAS_TO_MOST
    from records.queries.cases import K
    from records.queries.explain import explain_path

    told = explain_path(path, direction)
    losses_db = np.array(
        [[t.loss.least_db, t.loss.typical_db, t.loss.most_db] for t in told.terms]
    )
    launch_dbm = np.array(
        [told.launch.level.most_dbm, told.launch.level.typical_dbm, told.launch.level.least_dbm]
    )

    def sums() -> Any:
        levels = launch_dbm - losses_db.cumsum(axis=0)
        sigmas = (losses_db[:, 2] - losses_db[:, 1]) / SIGMAS_TO_MOST
        return levels, losses_db[:, 1].sum() + K * np.sqrt((sigmas**2).sum())

    found, stored = sums()[0][-1], told.level
    if not np.allclose(found, [stored.most_dbm, stored.typical_dbm, stored.least_dbm]):
        raise RuntimeError("numpy's sums are not the explanation's, so they are no measure of it.")
    return sums


if __name__ == "__main__":
    from tests.bench.database import in_a_network

    in_a_network(report)
