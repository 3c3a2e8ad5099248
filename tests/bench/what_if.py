# ruff: noqa: PLC0415 - imports wait for Django
"""What-if for 1,000 flats, beside the bare sums of the same losses in numpy and networkx.

python -m tests.bench.what_if
"""

from collections.abc import Callable
from typing import Any

WANTED_MS = 1_000


def report() -> None:
    """Print the figures for all homes of the network that stands in the database."""
    from django.db import connection

    from records.models import Place
    from records.queries.receivers import receivers_in
    from records.queries.what_if import Supposition, what_if
    from tests.bench.clock import beside_ms, own_ms
    from tests.factories import entry, optical_class

    homes = receivers_in(Place.objects.get(name="Alder Court"))
    print(f"\n{connection.vendor}, what-if for {len(homes):,} flats")
    pattern = [entry("splitter", "1:4"), entry("splitter", "1:8")]
    by_numpy, by_networkx = _bare(homes)
    for what, supposing in (
        ("another class", Supposition(optical_class=optical_class("GPON C+"))),
        ("another technology", Supposition(optical_class=optical_class("XGS-PON N1"))),
        ("1:4 and 1:8 in a row", Supposition(pattern=pattern)),
        ("an attenuator", Supposition(attenuator=entry("attenuator", "5 dB"))),
    ):

        def ask(supposing: Supposition = supposing) -> Any:
            return what_if(homes, supposing).failing

        ours_ms, numpy_ms = beside_ms(ask, by_numpy, rounds=7)
        _, networkx_ms = beside_ms(lambda: None, by_networkx, rounds=3)
        print(
            f"  {what}: {ours_ms:.0f} ms, of which {own_ms(ask, rounds=3):.0f} ms in this "
            f"process, wanted {WANTED_MS:,}; "
            f"numpy {numpy_ms:.2f} ms, ratio {ours_ms / numpy_ms:.0f}; "
            f"networkx {networkx_ms:.0f} ms, ratio {ours_ms / networkx_ms:.1f}"
        )


def _bare(homes: Any) -> tuple[Callable[[], Any], Callable[[], Any]]:
    """Return the same sums, over steps held in arrays and over a graph held in memory."""
    import networkx as nx
    import numpy as np

    from records.models import Channel, Feed

    feeds = {each.point_id: each for each in Feed.objects.all()}
    bounds = [
        f"{way}_{bound}_mdb" for way in ("down", "up") for bound in ("least", "typical", "most")
    ]
    graph = nx.DiGraph()
    own: dict[int, list[int]] = {}
    for point, feed in feeds.items():
        above = feeds.get(feed.upstream_id or 0)
        own[point] = [getattr(feed, b) - (getattr(above, b) if above else 0) for b in bounds]
        if above is not None:
            graph.add_edge(above.point_id, point, **dict(zip(bounds, own[point], strict=True)))
    number = {point: at for at, point in enumerate(own)}
    losses = np.array(list(own.values()))
    ways = [_way(feeds, home.point_id) for home in homes]
    longest = max(map(len, ways))
    index = np.array([[number[p] for p in w] + [number[w[-1]]] * (longest - len(w)) for w in ways])

    def by_numpy() -> Any:
        sums = losses[index].sum(axis=1)
        return (sums[:, 2] > 32_000) | (sums[:, 0] < 17_000)

    def by_networkx() -> Any:
        return [
            nx.single_source_dijkstra_path_length(graph, port, weight=bound)
            for port in Channel.objects.values_list("point", flat=True)
            for bound in bounds
        ]

    stored = [[getattr(feeds[home.point_id], b) for b in bounds] for home in homes]
    if not np.array_equal(losses[index].sum(axis=1), stored):
        raise RuntimeError("numpy's sums are not the record's, so they are no measure of it.")
    return by_numpy, by_networkx


def _way(feeds: Any, point: int | None) -> list[int]:
    """Return the points from a home up to the port, the port last: its own loss is none."""
    way = []
    while point is not None:
        way.append(point)
        point = feeds[point].upstream_id
    return way


if __name__ == "__main__":
    from tests.bench.database import in_a_network

    in_a_network(report)
