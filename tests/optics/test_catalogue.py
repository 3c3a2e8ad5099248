"""The catalogue's files hold what they promise: sources, order, coverage, closing classes."""

from collections import Counter, defaultdict
from math import log2

import pytest

from records.optics.bands import MAINTENANCE_NM, covers
from records.optics.losses import Loss, ideal_split_db, ideal_tap_db
from tests.optics.catalogue import classes, rows

FILES = ("classes.csv", "figures.csv", "colour_schemes.csv", "colours.csv")
CONFIDENCE = {
    "confirmed in text",
    "secondary source agrees",
    "memory only",
    "common practice",
    "computed",
}
BOUNDS = ("least", "typical", "most")
# What classes and meters use: all up bands, all down bands, video, and maintenance.
WAVELENGTHS_NM = (*range(1260, 1361), *range(1480, MAINTENANCE_NM + 1))


def values_by_wavelength():
    """Return {(kind, name, branch): {nm: {bound: [values]}}}."""
    found: dict = defaultdict(lambda: defaultdict(lambda: defaultdict(list)))
    for row in rows("figures.csv"):
        part = found[row["kind"], row["name"], row["branch"]]
        for nm in range(int(row["wavelength_min_nm"]), int(row["wavelength_max_nm"]) + 1):
            part[nm][row["bound"]].append(float(row["value"]))
    return found


VALUES = values_by_wavelength()
ENTRIES = {(row["kind"], row["name"]): row for row in rows("entries.csv")}


def the(bound, nm, *, kind, name, branch=""):
    """Return the one value of a bound of an entry at a wavelength."""
    (value,) = VALUES[kind, name, branch][nm][bound]
    return value


@pytest.mark.parametrize("name", FILES)
def test_every_row_names_its_source_and_how_sure_it_is(name):
    for row in rows(name):
        assert row["source"], row
        assert row["confidence"] in CONFIDENCE, row
        assert row["url"] == "" or row["url"].startswith("http"), row


@pytest.mark.parametrize("name", [*FILES, "entries.csv"])
def test_no_row_stands_twice(name):
    known = [tuple(row.values()) for row in rows(name)]

    assert len(known) == len(set(known))


def test_every_class_has_both_directions_and_one_reach():
    by_class = defaultdict(list)
    for row in rows("classes.csv"):
        by_class[row["system"], row["class"]].append(row)

    for pair in by_class.values():
        assert [row["direction"] for row in pair] == ["down", "up"]
        limits = {(row["reach_m"], row["differential_reach_m"], row["split_max"]) for row in pair}
        assert len(limits) == 1


def test_all_five_systems_are_there():
    systems = Counter(optical_class.system for optical_class in classes().values())

    assert systems == {"GPON": 6, "XG-PON": 6, "XGS-PON": 4, "EPON": 4, "10G-EPON": 3}


@pytest.mark.parametrize(
    ("kind", "names"),
    [
        ("splitter", [f"1:{2**n}" for n in range(1, 8)] + [f"2:{2**n}" for n in range(1, 8)]),
        ("tap", ["95/5", "90/10", "80/20", "70/30", "60/40"]),
        ("attenuator", [f"{value} dB" for value in (1, 2, 3, 5, 7, 10, 15)]),
    ],
)
def test_the_usual_sizes_are_there(kind, names):
    assert [name for each, name in ENTRIES if each == kind] == names


def test_every_figure_belongs_to_an_entry_and_every_entry_has_figures():
    assert {(kind, name) for kind, name, _ in VALUES} == set(ENTRIES)


def test_only_unlike_outputs_have_branches():
    branches = defaultdict(set)
    for kind, name, branch in VALUES:
        branches[kind, name].add(branch)

    for (kind, name), found in branches.items():
        assert found == ({"1", "2"} if kind in {"tap", "coupler"} else {""}), name


@pytest.mark.parametrize("part", VALUES, ids=lambda part: " ".join(part).strip())
def test_each_wavelength_has_one_value_of_each_bound_in_rising_order(part):
    wavelengths = VALUES[part] if part[0] == "coupler" else WAVELENGTHS_NM

    for nm in wavelengths:
        bounds = VALUES[part][nm]
        assert {bound: len(bounds[bound]) for bound in BOUNDS} == dict.fromkeys(BOUNDS, 1), nm
        Loss(**{f"{bound}_db": bounds[bound][0] for bound in BOUNDS})


def test_every_class_finds_its_loss_in_every_entry_but_couplers():
    bands = [band for each in classes().values() for band in (each.down, each.up)]

    for part, wavelengths in VALUES.items():
        if part[0] != "coupler":
            assert all(
                nm in wavelengths
                for band in bands
                for nm in range(band.wavelength_min_nm, band.wavelength_max_nm + 1)
            ), part


@pytest.mark.parametrize("coupler", [name for kind, name in ENTRIES if kind == "coupler"])
def test_a_coupler_sends_each_wavelength_one_way(coupler):
    first, second = VALUES["coupler", coupler, "1"], VALUES["coupler", coupler, "2"]

    assert first
    assert second
    assert not first.keys() & second.keys()


def test_the_technology_coupler_passes_each_technology_through_its_branch():
    def passed(branch):
        return VALUES["coupler", "GPON and XG(S)-PON", branch]

    known = classes()
    assert all(covers(known["GPON B+"].down, nm) for nm in passed("1") if nm > 1400)
    assert set(range(1290, 1331)) <= passed("1").keys()  # reduced up band, G.984.2
    for way in (known["XGS-PON N1"].down, known["XGS-PON N1"].up):
        band = range(way.wavelength_min_nm, way.wavelength_max_nm + 1)
        assert set(band) <= passed("2").keys()


def test_figures_are_thousandths_in_the_unit_of_their_kind():
    for row in rows("figures.csv"):
        assert row["unit"] == ("dB/km" if row["kind"] == "fibre" else "dB"), row
        assert len(row["value"].partition(".")[2]) <= 3, row


@pytest.mark.parametrize("name", [name for kind, name in ENTRIES if kind == "splitter"])
def test_a_splitter_is_no_better_than_ideal_and_no_worse_than_its_objective(name):
    legs = int(ENTRIES["splitter", name]["outputs"])

    # Source: ideal 10·log10 N; objective of Telcordia GR-1209-CORE 0.8 + 3.4·log2 N (from memory),
    # and 0.4 dB that a second input may cost (common practice)
    assert the("least", 1490, kind="splitter", name=name) == round(ideal_split_db(legs), 3)
    assert the("most", 1490, kind="splitter", name=name) <= 0.8 + 3.4 * log2(legs) + 0.4


def test_typical_splitters_are_the_textbook_s():
    # Source: university textbook, problem on fig. 13.41 (example W1)
    assert the("typical", 1490, kind="splitter", name="1:16") == 13.5
    assert the("typical", 1490, kind="splitter", name="1:32") == 16.6


def test_a_tap_is_no_better_than_ideal_on_either_port():
    for kind, name in ENTRIES:
        if kind == "tap":
            for branch, percent in enumerate(map(int, name.split("/")), start=1):
                least_db = the("least", 1490, kind="tap", name=name, branch=str(branch))
                assert least_db == round(ideal_tap_db(percent), 3)


@pytest.mark.parametrize("fibre", ["G.657.A1", "G.657.A2", "G.652.D"])
def test_a_cable_keeps_the_limits_of_its_recommendation(fibre):
    # Source: ITU-T G.657 table for category A, by a trade page restating it: 0.40 dB/km from 1310
    # to 1625 nm, 0.30 from 1530 to 1565 nm; G.652.D the same (from memory)
    limits = {
        nm: the("most", nm, kind="fibre", name=fibre) for nm in (1310, 1490, 1550, 1577, 1625)
    }

    assert limits == {1310: 0.4, 1490: 0.4, 1550: 0.3, 1577: 0.4, 1625: 0.4}


@pytest.mark.parametrize(
    ("name", "typical_db", "most_db"),
    # Source: FOA loss budget page and TIA-568 maximum; IEC 61753-1 grades B and C
    [
        ("mated pair", 0.5, 0.75),
        ("mated pair, grade B", 0.12, 0.25),
        ("mated pair, grade C", 0.25, 0.5),
        # Grade A from memory, grade D's 97 % too; FOA rule for plugs polished or fused on
        ("mated pair, grade A", 0.07, 0.15),
        ("mated pair, grade D", 0.5, 1.0),
        ("mated pair, polished or fused on", 0.3, 0.75),
    ],
)
def test_mated_pairs_keep_their_grade(name, typical_db, most_db):
    found_db = [the(bound, 1310, kind="mated", name=name) for bound in BOUNDS]

    assert found_db == [0, typical_db, most_db]


@pytest.mark.parametrize(
    ("kind", "name", "typical_db", "most_db"),
    # Source: FOA loss budget page, single-mode splice 0.15; TIA-568.3-D maximum 0.3 (from memory);
    # a crew's rule to redo a splice above 0.1 (a thesis on French practice); mean of ITU-T L.400
    # 0.1 (from memory)
    [
        ("fusion", "fusion splice", 0.15, 0.3),
        ("fusion", "fusion splice, redone above 0.1 dB", 0.05, 0.1),
        ("fusion", "fusion splice, mean of L.400", 0.1, 0.3),
        ("mechanical", "mechanical splice", 0.2, 0.3),
    ],
)
def test_splices_keep_their_limit(kind, name, typical_db, most_db):
    assert [the(bound, 1310, kind=kind, name=name) for bound in BOUNDS] == [0, typical_db, most_db]


# Source: FOA guide, FTTH PON page (from memory): ideal loss, and typical loss with one connector
# in and one out
@pytest.mark.parametrize(
    ("name", "foa_ideal_db", "foa_typical_db"),
    [("1:2", 3, 4), ("1:4", 6, 7), ("1:8", 9, 11), ("1:16", 12, 15), ("1:32", 15, 19)],
)
def test_a_bare_splitter_lies_between_the_guide_s_ideal_and_its_typical(
    name, foa_ideal_db, foa_typical_db
):
    bare_db = the("typical", 1490, kind="splitter", name=name)

    assert round(ideal_split_db(int(name[2:]))) == foa_ideal_db
    assert foa_ideal_db < bare_db <= foa_typical_db


def test_a_link_with_its_splices_keeps_the_handbook_s_model():
    # Source: ITU-T handbook text on link attributes: 0.210 and 0.275 dB/km at 1550 nm, assumed
    # minimum and maximum; G.652 Appendix I: 0.5 up to 1360 nm, 0.35 to 1625 nm (from memory)
    def bound(name, nm):
        return the(name, nm, kind="fibre", name="G.652 link, splices in")

    assert (bound("least", 1550), bound("most", 1550)) == (0.21, 0.275)
    assert (bound("most", 1310), bound("most", 1625)) == (0.5, 0.35)


@pytest.mark.parametrize(
    ("name", "most_db_per_km"),
    # Source: ISO/IEC 11801-1 OS2 and OS1a, ANSI/TIA-568.3-D outside and inside (from memory)
    [("OS2", 0.4), ("OS1a", 1.0)],
)
def test_cabling_standards_set_one_limit(name, most_db_per_km):
    for nm in (1310, 1490, 1550, 1577, 1625):
        assert the("most", nm, kind="fibre", name=name) == most_db_per_km


@pytest.mark.parametrize("fibre", ["G.652.D", "G.657.A1", "G.657.A2"])
def test_the_water_peak_is_no_worse_than_the_rest(fibre):
    # Source: the same tables: 0.40 dB/km at 1383 nm after hydrogen ageing
    assert the("most", 1383, kind="fibre", name=fibre) == 0.4


def test_every_class_names_its_standard_and_says_where_its_table_was_not_read():
    for row in rows("classes.csv"):
        assert row["standard"].startswith(("ITU-T G.9", "IEEE 802.3")), row
        is_from_memory = row["confidence"] == "memory only"
        is_told = "not read" in row["standard"] or "from memory" in row["source"]
        assert is_told or not is_from_memory, row


def test_what_was_computed_is_the_middle_of_least_and_most():
    middles = [row for row in rows("figures.csv") if "middle of least" in row["source"]]

    assert middles
    for row in middles:
        nm, part = int(row["wavelength_min_nm"]), (row["kind"], row["name"], row["branch"])
        least_db, most_db = VALUES[part][nm]["least"][0], VALUES[part][nm]["most"][0]
        assert float(row["value"]) == pytest.approx((least_db + most_db) / 2, abs=0.00051), row


def test_colours_of_each_scheme_count_up_without_a_gap():
    positions = defaultdict(list)
    for row in rows("colours.csv"):
        positions[row["scheme"], row["element"]].append(int(row["position"]))

    assert {name for name, _ in positions} == {row["name"] for row in rows("colour_schemes.csv")}
    for counted in positions.values():
        assert counted == list(range(1, len(counted) + 1))
