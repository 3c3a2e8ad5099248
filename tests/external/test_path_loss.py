"""Path loss by networkx, from the description of a plant and the catalogue's files alone.

The product builds the plant from the same description; nothing of its tables, its light or its
queries is used for what is expected. How many pairs of plugs a path has is counted from what the
things are: a connector in an adapter of a panel or outlet shares that adapter's pair, one in an
OLT or terminal belongs to its class (ITU-T G.652 Appendix I), any other plug is a pair more.
"""

from dataclasses import dataclass, field
from random import Random

import networkx as nx
import pytest

from records.models import Feed
from tests.factories import Plant
from tests.optics.catalogue import rows

pytestmark = pytest.mark.django_db

ROUNDED_DB = 0.0005
"""How far one loss that is kept in thousandths of a dB may be off."""

BOUNDS = ("least", "typical", "most")
# GPON B+, middles of the bands of ITU-T G.984.2: 1480 to 1500 nm down, 1290 to 1330 nm up.
WAYS = {"down": 1490, "up": 1310}
WITHOUT_A_PAIR = {"olt", "terminal", "panel", "outlet"}


def figure(kind, name, bound, wavelength_nm):
    """Return a figure of the catalogue's file. Source: its row names it."""
    (value,) = (
        float(row["value"])
        for row in rows("figures.csv")
        if (row["kind"], row["name"], row["bound"]) == (kind, name, bound)
        and int(row["wavelength_min_nm"]) <= wavelength_nm <= int(row["wavelength_max_nm"])
    )
    return value


WEIGHTS = {f"{way} {bound}": (nm, bound) for way, nm in WAYS.items() for bound in BOUNDS}


@dataclass
class Described:
    """A plant in words, and the graph of what its parts lose."""

    words: list[str] = field(default_factory=lambda: ["olt O", "light O.1 GPON B+"])
    chains: list[str] = field(default_factory=list)
    graph: nx.Graph = field(default_factory=nx.Graph)
    kinds: dict[str, str] = field(default_factory=lambda: {"O": "olt"})
    homes: list[str] = field(default_factory=list)

    def add(self, name, kind, *, words, entry, km=1.0, **ends):
        """Add a thing through which light goes; a splitter has a far side for each leg."""
        self.words.append(words)
        self.kinds[name] = kind
        for end in ends.values():
            self._edge((name, "near"), end, entry, km)

    def _edge(self, one, other, entry, km=1.0):
        losses = {
            key: figure(entry[0], entry[1], bound, nm) * km if entry else 0.0
            for key, (nm, bound) in WEIGHTS.items()
        }
        self.graph.add_edge(one, other, **losses)

    def link(self, one, other, sign):
        """Join two things, given as (name, side) and by `=` or `~`."""
        if sign == "~":
            self._edge(one, other, ("fusion", "fusion splice"))
        elif {self.kinds[one[0]], self.kinds[other[0]]} & WITHOUT_A_PAIR:
            self._edge(one, other, None)
        else:
            self._edge(one, other, ("mated", "mated pair"))

    def loss_db(self, name, key):
        """Return the loss from the OLT to a thing."""
        return nx.shortest_path_length(self.graph, ("O", "far"), (name, "near"), weight=key)


def random_plant(rng, splitters):
    """Return a described tree: feeders, panels, attenuators, splices, splitters, homes."""
    plant = Described()
    free = [("O.1", ("O", "far"))]
    for number in range(splitters):
        ratio = rng.choice((2, 4, 8))
        name = f"S{number}"
        plant.add(
            name,
            "splitter",
            words=f"splitter {name} 1:{ratio}",
            entry=("splitter", f"1:{ratio}"),
            **{f"leg{leg}": (name, f"leg{leg}") for leg in range(1, ratio + 1)},
        )
        token, above = free.pop(rng.randrange(len(free)))
        _run(rng, plant, (token, above), (name, (name, "near")), number=number)
        free += [(f"{name}.{leg}", (name, f"leg{leg}")) for leg in range(1, ratio + 1)]
    for number, start in enumerate(rng.sample(free, min(3, len(free))), start=splitters):
        terminal = f"T{number}"
        plant.words.append(f"terminal {terminal} @{number + 1}")
        plant.kinds[terminal] = "terminal"
        plant.homes.append(terminal)
        _run(rng, plant, start, (terminal, (terminal, "near")), number=number)
    return plant


def _run(rng, plant, start, end, *, number):
    """Lay a run of fibres, with panels, attenuators and splices between, from start to end."""
    token, above = start
    said = [token]
    is_fibre = False
    for step in range(rng.randint(1, 4)):
        fibre = f"C{number}x{step}"
        metres = rng.randint(1, 9000)
        sign = rng.choice("=~") if is_fibre else "="
        km = metres / 1000
        plant.add(
            fibre,
            "cable",
            words=f"cable {fibre} {metres} m",
            entry=("fibre", "G.652.D"),
            km=km,
            far=(fibre, "far"),
        )
        plant.link(above, (fibre, "near"), sign)
        said += [sign, fibre]
        above, is_fibre = (fibre, "far"), True
        between = rng.choice(("", "panel", "attenuator"))
        if between:
            part = f"{between[0].upper()}{number}x{step}"
            words, entry = {
                "panel": (f"panel {part}", ("mated", "mated pair")),
                "attenuator": (f"attenuator {part} 3 dB", ("attenuator", "3 dB")),
            }[between]
            plant.add(part, between, words=words, entry=entry, far=(part, "far"))
            plant.link(above, (part, "near"), "=")
            said += ["=", part]
            above, is_fibre = (part, "far"), False
    plant.link(above, end[1], "=")
    plant.chains.append(" ".join([*said, "=", end[0]]))


@pytest.mark.parametrize("seed", range(12))
def test_on_random_plants_light_loses_what_the_shortest_path_does(seed):
    described = random_plant(Random(seed), splitters=3)
    plant = Plant("\n".join([*described.words, *described.chains]))

    things = described.graph.number_of_edges()
    for home in described.homes:
        feed = Feed.objects.get(point=plant[home])
        for key in WEIGHTS:
            way, bound = key.split()
            stored_db = getattr(feed, f"{way}_{bound}_mdb") / 1000
            expected_db = described.loss_db(home, key)
            assert stored_db == pytest.approx(expected_db, abs=things * ROUNDED_DB), (home, key)


@pytest.mark.parametrize(
    ("chain", "pairs"),
    # Counted by hand, plug by plug; the outlet's adapter holds the pair of drop and cord.
    [
        ("O.1 = F = S.in\nS.1 = D ~ U - T", 3),
        ("O.1 = F = S.in\nS.1 = A = D ~ U - T", 4),
        ("O.1 = A = F = S.in\nS.1 = D ~ U - T", 4),
        ("O.1 = F = S.in\nS.1 = D ~ U = A - T", 4),
        ("O.1 = F = P = G = S.in\nS.1 = D ~ U - T", 4),
        ("O.1 = F = P = A = G = S.in\nS.1 = D ~ U - T", 5),
    ],
)
def test_a_plug_in_an_attenuator_is_a_pair_and_one_in_an_adapter_shares_its_pair(chain, pairs):
    plant = Plant(
        "olt O\nlight O.1 GPON B+\npanel P\nattenuator A 5 dB\nsplitter S 1:4\n"
        "outlet U @1\nterminal T @1\ncable F 1 m\ncable G 1 m\ncable D 1 m\n" + chain
    )

    has_attenuator = "A" in chain.split()
    # Typical figures, source: FOA loss budget page, 0.5 dB a pair and 0.15 dB a splice; 5 dB is
    # the value on the attenuator; 1:4 of the catalogue's file. Metres of fibre lose nothing here.
    expected_db = pairs * 0.5 + 0.15 + figure("splitter", "1:4", "typical", 1490)
    expected_db += 5 if has_attenuator else 0
    found_db = Feed.objects.get(point=plant["T"]).down_typical_mdb / 1000
    assert found_db == pytest.approx(expected_db, abs=0.005)
