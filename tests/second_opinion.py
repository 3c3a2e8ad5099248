"""Light worked out a second time: shortest paths of networkx through a graph of its own.

Nothing of records.light is used but its plain tuples, as carriers of rows. A node is a point and
how light came there: over its joint ('in') or through its passage ('out'); so light that came over
a joint has to go through a passage next, and the other way round.
"""

from collections.abc import Callable, Iterable
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from itertools import pairwise
from math import prod
from typing import NamedTuple

import networkx as nx

from records import models as rows
from records.light.plant import Joint, Passage, Spot

Figures = Callable[[int, int, str, int], int | None]
"""The catalogue's value of an entry at a branch, a bound and a wavelength, in millidecibels."""

BOUNDS = ("least", "typical", "most")
WEIGHTS = [(way, bound) for way in ("down", "up") for bound in BOUNDS]

# Where a pair of plugs is paid for already, by what the thing is and not by what its ports are
# called: an adapter of a panel or outlet is a pair, and the class of an OLT or terminal gives its
# levels behind its own connector (ITU-T G.652 Appendix I). All else is bought "without
# connectors" (fixtures/catalogue/entries.csv), so each plug put into it is one more pair.
PAID_FOR = {"panel", "outlet", "olt", "terminal"}


class Network(NamedTuple):
    """Rows of a plant and the catalogue they use: kinds and outputs by entry, figures.

    `paid_for` are the points where no pair is to be counted.
    """

    spots: dict[int, Spot]
    passages: dict[int, Passage]
    joints: list[Joint]
    entries: dict[int, tuple[str, int]]
    figures: Figures
    paid_for: frozenset[int]


class Seen(NamedTuple):
    """What is expected at a point: where light comes from, the leg, and sums along the way."""

    upstream: int | None
    leg: int | None
    length_cm: int
    split: int
    losses_mdb: tuple[int, ...]


def light(network: Network, port: int, down_nm: int, up_nm: int) -> dict[int, Seen]:
    """Return what each point sees of a channel that starts at a port."""
    graph = _graph(network, {"down": down_nm, "up": up_nm})
    start = (port, "out")
    graph.add_node(start)
    ways = nx.single_source_dijkstra_path(graph, start, weight="hops")
    sums = [
        nx.single_source_dijkstra_path_length(graph, start, weight=f"{way} {bound}")
        for way, bound in WEIGHTS
    ]
    lengths = nx.single_source_dijkstra_path_length(graph, start, weight="length_cm")
    seen: dict[int, Seen] = {}
    for node, way in ways.items():
        point = node[0]
        assert point not in seen, f"light comes to point {point} from both sides"
        legs = [each for each, _ in way if network.spots[each].role == "leg"]
        seen[point] = Seen(
            upstream=way[-2][0] if len(way) > 1 else None,
            leg=legs[-1] if legs else None,
            length_cm=lengths[node],
            split=prod(graph.edges[edge]["split"] for edge in pairwise(way)),
            losses_mdb=tuple(each[node] for each in sums),
        )
    return seen


def _graph(network: Network, wavelengths_nm: dict[str, int]) -> nx.DiGraph:
    graph = nx.DiGraph()
    for joint in network.joints:
        losses = _weights(_joint_mdb, network, joint, wavelengths_nm)
        if losses is not None:
            for one, other in ((joint.a, joint.b), (joint.b, joint.a)):
                graph.add_edge((one, "out"), (other, "in"), hops=1, length_cm=0, split=1, **losses)
    for enter, leave in _ways_through(network.spots.values()):
        passage = network.passages[enter.passage or 0]
        kind, outputs = network.entries[passage.entry]
        losses = _weights(_passage_mdb, network, (passage, enter, leave), wavelengths_nm)
        if losses is not None and enter.role != "leg":
            graph.add_edge(
                (enter.id, "in"),
                (leave.id, "out"),
                hops=1,
                length_cm=passage.length_cm,
                split=outputs if kind in {"splitter", "tap"} else 1,
                **losses,
            )
    return graph


def _ways_through(spots: Iterable[Spot]) -> Iterable[tuple[Spot, Spot]]:
    by_passage: dict[int, list[Spot]] = {}
    for spot in spots:
        if spot.passage is not None:
            by_passage.setdefault(spot.passage, []).append(spot)
    for together in by_passage.values():
        for enter in together:
            for leave in together:
                if enter.side != leave.side:
                    yield enter, leave


def _weights(mdb, network, thing, wavelengths_nm) -> dict[str, int] | None:
    weights = {
        f"{way} {bound}": mdb(network, thing, bound, wavelengths_nm[way]) for way, bound in WEIGHTS
    }
    return None if None in weights.values() else weights


def _joint_mdb(network: Network, joint: Joint, bound: str, wavelength_nm: int) -> int | None:
    if joint.measured_mdb is not None:
        return joint.measured_mdb
    if joint.kind == "mated" and not network.paid_for.isdisjoint((joint.a, joint.b)):
        return 0
    return network.figures(joint.entry, 0, bound, wavelength_nm)


def _passage_mdb(
    network: Network, through: tuple[Passage, Spot, Spot], bound: str, wavelength_nm: int
) -> int | None:
    passage, enter, leave = through
    kind, _outputs = network.entries[passage.entry]
    branching = next((end for end in (enter, leave) if end.role in {"leg", "branch"}), leave)
    if branching.role == "leg" and branching.measured_mdb is not None:
        return branching.measured_mdb
    if passage.measured_mdb is not None:
        return passage.measured_mdb
    value_mdb = network.figures(passage.entry, branching.number, bound, wavelength_nm)
    if kind == "fibre" and value_mdb is not None:
        exact = Decimal(value_mdb) * passage.length_cm / 100_000
        return int(exact.quantize(Decimal(1), ROUND_HALF_UP))
    return value_mdb


def stored_network() -> Network:
    """Return the whole plant as the tables have it."""
    spots = [
        Spot(*row)
        for row in rows.Point.objects.values_list(
            "id", "role", "number", "passage_id", "side", "measured_mdb"
        )
    ]
    passages = rows.Passage.objects.values_list("id", "entry_id", "length_cm", "measured_mdb")
    ends = dict(rows.JointEnd.objects.filter(side=1).values_list("joint_id", "point_id"))
    others = dict(rows.JointEnd.objects.filter(side=2).values_list("joint_id", "point_id"))
    joints = rows.Joint.objects.values_list("id", "kind", "entry_id", "measured_mdb")
    kinds = rows.CatalogueEntry.objects.values_list("id", "kind", "outputs")
    return Network(
        spots={spot.id: spot for spot in spots},
        passages={row[0]: Passage(*row) for row in passages},
        joints=[
            Joint(ends[pk], others[pk], kind, entry, measured_mdb)
            for pk, kind, entry, measured_mdb in joints
        ],
        entries={pk: (kind, outputs) for pk, kind, outputs in kinds},
        figures=_catalogue(),
        paid_for=frozenset(
            rows.Point.objects.filter(equipment__kind__in=PAID_FOR).values_list("id", flat=True)
        ),
    )


def _catalogue() -> Figures:
    known = list(rows.Figure.objects.all())

    @cache
    def value_mdb(entry: int, branch: int, bound: str, wavelength_nm: int) -> int | None:
        for figure in known:
            if (
                figure.entry_id == entry
                and figure.bound == bound
                and figure.branch in {None, branch}
                and figure.wavelength_min_nm <= wavelength_nm <= figure.wavelength_max_nm
            ):
                return figure.value_mdb
        return None

    return value_mdb


def stored_light(channel: int) -> dict[int, Seen]:
    """Return what each point sees of a channel, as the stored feeds have it."""
    return {
        feed.point_id: Seen(
            upstream=feed.upstream_id,
            leg=feed.leg_id,
            length_cm=feed.length_cm,
            split=feed.split,
            losses_mdb=tuple(getattr(feed, f"{way}_{bound}_mdb") for way, bound in WEIGHTS),
        )
        for feed in rows.Feed.objects.filter(channel=channel)
    }


def expected_light(channel: int, network: Network) -> dict[int, Seen]:
    """Return what each point should see of a channel."""
    lit = rows.Channel.objects.get(pk=channel)
    middles = {
        side.direction: (side.wavelength_min_nm + side.wavelength_max_nm) // 2
        for side in lit.optical_class.directions.all()
    }
    return light(network, lit.point_id, middles["down"], middles["up"])
