"""Random trees with one fault, read by a noisy meter, to test how well the fault is found.

A tree is built as a building is: a feeder, one or two stages of splitters, risers in shared
cables, a drop to each home. Losses are drawn between the catalogue's least and most.
"""

from dataclasses import dataclass, field
from random import Random

from records.light.faults import Observed, observed
from records.light.stretches import Step
from records.optics.bends import bend_growth
from records.optics.levels import Level

# Least, typical, most in dB. Sources: the rows of fixtures/catalogue/figures.csv of these names,
# each with its own source there.
LOSSES_DB = {
    "mated": (0.0, 0.5, 0.75),
    "adapter": (0.0, 0.5, 0.75),
    "fusion": (0.0, 0.15, 0.3),
    2: (3.01, 3.405, 3.8),
    4: (6.021, 6.711, 7.4),
    8: (9.031, 9.866, 10.7),
    16: (12.041, 13.5, 14.0),
    32: (15.051, 16.6, 17.3),
    64: (18.062, 19.431, 20.8),
    128: (21.072, 22.786, 24.5),
}
FIBRE_DB_PER_KM = (0.18, 0.25, 0.4)  # 1480 to 1529 nm, likewise
LAUNCH_DBM = (1.5, 3.25, 5.0)  # GPON B+ down, ITU-T G.984.2 Amd 1; the middle is typical
DOWN_NM, UP_NM, VIDEO_NM = 1490, 1310, 1550
USUAL_NOISE_DB = 0.25  # half of METER_OFF_DB in records/optics/readings.py

PATTERNS = ((32,), (64,), (4, 8), (8, 4), (2, 16), (8, 8), (4, 16), (2, 64), (8, 16))


@dataclass
class Tree:
    """Steps with what each really loses, and where its homes and splitters are."""

    steps: list[Step] = field(default_factory=list)
    expected: list[tuple[float, float, float]] = field(default_factory=list)
    real_db: list[float] = field(default_factory=list)
    homes: list[int] = field(default_factory=list)
    bodies: list[int] = field(default_factory=list)

    def add(self, rng, above, kind, loss_db, *, sheath=None):
        """Add a step that really loses something between its least and most."""
        least, typical, most = loss_db
        self.steps.append(Step(above, kind, (most - least) / 6, sheath))
        self.expected.append(loss_db)
        self.real_db.append(rng.triangular(least, most, typical))
        return len(self.steps) - 1

    def way(self, step):
        """Return the steps from the launch down to one."""
        found = []
        while step is not None:
            found.append(step)
            step = self.steps[step].above
        return found[::-1]

    def level(self, step):
        """Return the level to expect at the lower end of a step."""
        way = self.way(step)[1:]
        losses = [sum(self.expected[each][bound] for each in way) for bound in (2, 1, 0)]
        return Level(
            **{
                name: launch - loss
                for name, launch, loss in zip(
                    ("least_dbm", "typical_dbm", "most_dbm"), LAUNCH_DBM, losses, strict=True
                )
            }
        )

    def real_dbm(self, step):
        """Return the level that is really there without a fault."""
        launch, *way = self.way(step)
        return self.real_db[launch] - sum(self.real_db[each] for each in way)


def fibre_db(length_m):
    """Return the loss of a fibre of that length."""
    return tuple(per_km * length_m / 1000 for per_km in FIBRE_DB_PER_KM)


def tree(rng: Random, pattern=None) -> Tree:
    """Return a random tree, or one of a given pattern of splitters."""
    made = Tree()
    port = made.add(rng, None, "launch", LAUNCH_DBM)
    at = made.add(rng, port, "mated", LOSSES_DB["mated"])
    at = made.add(rng, at, "fibre", fibre_db(rng.uniform(200, 8000)))
    for _ in range(rng.randint(0, 3)):
        at = made.add(rng, at, "fusion", LOSSES_DB["fusion"])
        at = made.add(rng, at, "fibre", fibre_db(rng.uniform(50, 1500)))
    _stage(made, rng, at, list(pattern or rng.choice(PATTERNS)), sheath=1)
    return made


def _stage(made, rng, at, pattern, *, sheath):
    ways, *further = pattern
    at = made.add(rng, at, "mated", LOSSES_DB["mated"])
    # A splitter's spread is in part common to its legs (half of the variance), as in the record.
    least, typical, most = LOSSES_DB[ways]
    common = tuple(0.5**0.5 * (each - typical) for each in (least, typical, most))
    body = made.add(rng, at, "splitter", tuple(each + typical for each in common))
    made.bodies.append(body)
    for leg in range(ways):
        end = made.add(rng, body, "leg", common)
        end = made.add(rng, end, "mated", LOSSES_DB["mated"])
        if further:
            riser = fibre_db(rng.uniform(10, 80))
            end = made.add(rng, end, "fibre", riser, sheath=sheath)
            _stage(made, rng, end, further, sheath=1000 + end)
        else:
            _home(made, rng, end, sheath=10 * sheath + leg // 12)


def _home(made, rng, at, *, sheath):
    at = made.add(rng, at, "fibre", fibre_db(rng.uniform(5, 60)), sheath=sheath)
    at = made.add(rng, at, "fusion", LOSSES_DB["fusion"])
    at = made.add(rng, at, "adapter", LOSSES_DB["adapter"])
    at = made.add(rng, at, "fibre", fibre_db(2))
    made.homes.append(made.add(rng, at, "mated", (0.0, 0.0, 0.0)))


@dataclass(frozen=True)
class Case:
    """A tree, what was read on it, and the step that is really at fault."""

    tree: Tree
    readings: list[Observed]
    fault: int
    is_bend: bool


def case(rng: Random, *, noise_db: float, part_read: float = 1.0, wavelengths=(DOWN_NM,)) -> Case:
    """Return a random tree with a step of 1 to 8 dB at a random element that homes hang from.

    With two wavelengths a fault in a fibre is a bend.
    """
    made = tree(rng)
    read = _read_homes(rng, made, part_read)
    fault = _fault(rng, made, read, {"mated", "adapter", "fusion", "fibre"})
    is_bend = made.steps[fault].kind == "fibre" and len(wavelengths) > 1
    extra_db = rng.uniform(1, 8)
    longest = max(wavelengths)
    lowered_db = {
        nm: extra_db * (bend_growth(nm, against_nm=longest) if is_bend else 1.0)
        for nm in wavelengths
    }
    readings = [
        _reading(
            made,
            rng,
            home,
            noise_db,
            wavelength_nm=nm,
            lowered_db=lowered_db[nm] * (fault in made.way(home)),
        )
        for home in read
        for nm in wavelengths
    ]
    return Case(made, readings, fault, is_bend)


def dark_case(rng: Random, *, part_read: float = 1.0) -> Case:
    """Return a random tree with a break at a random element, read with a usual meter."""
    made = tree(rng)
    read = _read_homes(rng, made, part_read)
    fault = _fault(rng, made, read, {"mated", "adapter", "fusion", "fibre", "leg", "splitter"})
    readings = [
        _reading(made, rng, home, USUAL_NOISE_DB, lowered_db=60.0 * (fault in made.way(home)))
        for home in read
    ]
    return Case(made, readings, fault, is_bend=False)


def _fault(rng, made, read, kinds):
    """Return an element that fails: before the first splitter, between two, or in a drop."""
    bodies = set(made.bodies)
    by_stage: dict[int, set[int]] = {}
    for home in read:
        stage = 0
        for step in made.way(home):
            if made.steps[step].kind in kinds:
                by_stage.setdefault(stage, set()).add(step)
            stage += step in bodies
    return rng.choice(sorted(by_stage[rng.choice(sorted(by_stage))]))


def _read_homes(rng, made, part_read):
    count = max(3, round(part_read * len(made.homes)))
    return sorted(rng.sample(made.homes, min(count, len(made.homes))))


def _reading(made, rng, home, noise_db, *, wavelength_nm=DOWN_NM, lowered_db=0.0):
    read_dbm = made.real_dbm(home) - lowered_db + rng.gauss(0, noise_db)
    return observed(
        home,
        expected=made.level(home),
        level_dbm=read_dbm,
        uncertainty_db=2 * noise_db,
        wavelength_nm=wavelength_nm,
    )


# What the simple rule may count as low: missing so much of the typical level. It is given the one
# that suits it best. Source: reading against expected (common practice): 1, 2 and 3 dB.
RULE_LOW_DB = (1.0, 2.0, 3.0)


def places_by_rule(made: Tree, readings, low_db: float) -> list[set[int]]:
    """Return what the simple rule blames first, second and so on.

    The lowest splitter whose legs are all low, of several the one with most homes; then the drops
    of low homes, the lowest reading first. The rule gets the benefit of the whole way from the
    next splitter up, or of the whole drop.
    """
    missing_db = {each.step: each.missing_db or 0.0 for each in readings}
    low = {home for home, db in missing_db.items() if db > low_db}
    ways = {home: set(made.way(home)) for home in missing_db}
    all_low = []
    for body in made.bodies:
        below = {home for home in ways if body in ways[home]}
        if below and below <= low:
            # Lowest: of splitters that account for the same homes, the one furthest down.
            all_low.append((len(below), body))
    blamed = [body for _, body in sorted(all_low, reverse=True)]
    blamed += sorted(low, key=lambda home: -missing_db[home])
    return [set(_down_from_splitter_above(made, step)) for step in blamed]


def _down_from_splitter_above(made, step):
    way = made.way(step)
    above = [at for at, each in enumerate(way[:-1]) if each in made.bodies]
    return way[above[-1] + 1 :] if above else way


def places(causes) -> list[set[int]]:
    """Return the suspects by place, likeliest first: joints and fibres of one stretch together."""
    found: dict[tuple, set[int]] = {}
    for each in causes.likeliest:
        below = tuple(sorted((*each.says_so, *each.contradicts)))
        found.setdefault(below, set()).update(each.suspects)
    return list(found.values())
