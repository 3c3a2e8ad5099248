"""A crew's own entries, new versions that take over, and figures ticked off."""

from dataclasses import replace

import pytest

from records.changes import Overtaken, catalogue, equipment, joints
from records.changes.catalogue import Superseded
from records.changes.figures import GivenFigure, checked
from records.changes.refusals import Malformed, Missing, NameTaken
from records.models import (
    CatalogueEntry,
    ClassDirection,
    Confirmation,
    EntryKind,
    Feed,
    Figure,
    Joint,
    Passage,
    TakeOver,
)
from records.queries.catalogue import default_entry
from records.queries.citations import figures_at
from records.queries.explain import explain
from records.queries.invariants import broken
from records.queries.take_overs import progress, take_overs
from tests.factories import Plant, entry, opened
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

SHEET = "test sheets of twelve units, March 2026"


def over(band=(1260, 1625), *, branch=None, **values_db):
    """Return figures over a band: `least`, `typical` and `most`, in dB."""
    return [
        GivenFigure(
            bound=bound,
            wavelength_min_nm=band[0],
            wavelength_max_nm=band[1],
            value_db=value_db,
            source=SHEET,
            branch=branch,
        )
        for bound, value_db in values_db.items()
    ]


GRADED = over(least=0.0, typical=0.1, most=0.2)


def add(figures=GRADED, **options):
    with opened() as change:
        return catalogue.add(
            change, **{"kind": "mated", "name": "our pair", "figures": figures, **options}
        )


def supersede(of, figures):
    with opened(reason="new test sheets") as change:
        return catalogue.supersede(change, of, figures=figures)


def take_over(begun, trees=1):
    """Take over in as many changes as it takes; return how many things each moved."""
    moved = [1]
    while moved[-1]:
        with opened() as change:
            moved.append(catalogue.take_over(change, begun.pk, trees=trees))
    return moved[1:-1]


def test_a_crew_adds_an_entry_and_uses_it():
    plant = Plant("olt O\nsplitter S 1:4\nlight O.1 GPON B+")
    added = add()

    with opened() as change:
        joints.join(change, plant["O.1"], plant["S.in"], kind="mated", entry=added.pk)

    assert added.version == 1
    assert list(added.figures.values_list("bound", "value_mdb").order_by("value_mdb")) == [
        ("least", 0),
        ("typical", 100),
        ("most", 200),
    ]
    assert {figure.source for figure in added.figures.all()} == {SHEET}


@pytest.mark.parametrize("kind", EntryKind.values)
def test_every_entry_that_is_shipped_passes_the_checks(kind):
    for shipped in CatalogueEntry.objects.filter(kind=kind):
        given = [
            GivenFigure(
                bound=figure.bound,
                wavelength_min_nm=figure.wavelength_min_nm,
                wavelength_max_nm=figure.wavelength_max_nm,
                value_db=figure.value_mdb / 1000,
                source=figure.source,
                confidence=figure.confidence,
                branch=figure.branch,
            )
            for figure in shipped.figures.order_by("pk")
        ]
        assert checked(kind, given, inputs=shipped.inputs, outputs=shipped.outputs)


TYPICAL_5 = over(least=0.0, typical=5.0, most=5.0)
BAD_FIGURES = [
    ([], "figures", "needs figures"),
    (over(least=0.0, typical=-0.1, most=0.2), "figures.2.value_db", "-0.1 dB is not possible"),
    (over(least=0.0, typical=float("nan"), most=0.2), "figures.2.value_db", "nan dB"),
    (over(least=0.0, typical=0.1, most=61.0), "figures.3.value_db", "61 dB"),
    (over((850, 1625), least=0.0), "figures.1.wavelength_min_nm", "850 is not a possible"),
    (over((1625, 1260), least=0.0), "figures.1.wavelength_max_nm", "from 1625 down to 1260"),
    (over(worst=0.2), "figures.1.bound", "'worst' is not"),
    ([replace(GRADED[0], source=" ")], "figures.1.source", "source is empty"),
    ([replace(GRADED[0], confidence="sure")], "figures.1.confidence", "'sure' is not"),
    (over(branch=1, least=0.0), "figures.1.branch", "1 is not a possible branch"),
    (over(least=0.3, typical=0.1, most=0.2), "figures", "least, typical and most are 0.3, 0.1"),
    (over(least=0.0, most=0.2), "figures", "no figure for typical"),
    (GRADED + GRADED[:1], "figures", "two figures for least"),
    (over((1480, 1625), least=0.0, typical=0.1, most=0.2), "figures", "From 1260 to 1280 nm"),
]


@pytest.mark.parametrize(("figures", "field", "said"), BAD_FIGURES)
def test_figures_that_can_not_be_are_refused_by_number_and_field(figures, field, said):
    with nothing_written(), pytest.raises(Malformed) as refused:
        add(figures)

    assert refused.value.field == field
    assert said in refused.value.message


def test_legs_that_gave_more_light_than_comes_in_are_refused():
    """Even division in 8 costs 10·log10 8 = 9.03 dB."""
    with nothing_written(), pytest.raises(Malformed, match=r"Even division alone costs 9\.03"):
        add(TYPICAL_5, kind="splitter", name="1:8 new", outputs=8)


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        (over(branch=1, least=0, typical=1, most=1), "Branch 2 has no figures"),
        (
            over(branch=1, least=0, typical=1, most=1) + over(least=1, typical=11, most=12),
            "some do not",
        ),
    ],
)
def test_a_tap_needs_figures_of_all_its_outputs(figures, said):
    with nothing_written(), pytest.raises(Malformed, match=said):
        add(figures, kind="tap", name="85/15", outputs=2)


def test_a_couplers_branches_pass_only_what_they_have_figures_for():
    added = add(
        over((1480, 1500), branch=1, least=0, typical=0.4, most=0.8)
        + over((1575, 1580), branch=2, least=0, typical=0.4, most=0.8),
        kind="coupler",
        name="down only",
        inputs=2,
    )

    assert added.figures.count() == 6


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"kind": "mirror"}, "kind"),
        ({"name": "  "}, "name"),
        ({"outputs": 2}, "outputs"),
        ({"inputs": 2}, "inputs"),
        ({"kind": "splitter", "name": "3:8", "inputs": 3, "outputs": 8}, "inputs"),
    ],
)
def test_an_entry_that_can_not_be_is_refused_with_its_field(options, field):
    with nothing_written(), pytest.raises(Malformed) as refused:
        add(**options)

    assert refused.value.field == field


def test_a_name_is_given_once_in_a_kind_whatever_its_case():
    with nothing_written(), pytest.raises(NameTaken, match="already a mated called MATED PAIR"):
        add(name="MATED PAIR")


# Two trees and one dark piece, all of 1:4 splitters and mated pairs.
PLANT = """
    olt O x2
    splitter S1 1:4
    splitter S2 1:4
    splitter S3 1:4
    cable F 900 m x3
    terminal T1 @1
    terminal T2 @2
    light O.1 GPON B+
    light O.2 GPON B+
    O.1 = F.1 = S1
    O.2 = F.2 = S2
    S1.1 - T1
    S2.4 - T2
    F.3 = S3
"""
BETTER_BY_4 = over(least=6.1, typical=6.4, most=6.8)


@pytest.fixture
def plant():
    return Plant(PLANT)


def typical_mdb(plant, point):
    return Feed.objects.get(point=plant[point]).down_typical_mdb


def test_a_new_version_takes_over_in_plant_and_light(plant):
    before_mdb = typical_mdb(plant, "T1")
    old = entry("splitter", "1:4")

    begun = supersede(old, BETTER_BY_4)
    take_over(begun)

    # Typical 6.4 instead of 6.711 dB: fixtures/catalogue/figures.csv.
    assert typical_mdb(plant, "T1") == before_mdb - 311
    assert typical_mdb(plant, "T2") == before_mdb - 311
    assert set(Passage.objects.filter(equipment__kind="splitter").values_list("entry")) == {
        (begun.new_id,)
    }
    assert not list(broken())


def test_until_it_is_taken_over_the_old_version_holds(plant):
    before_mdb = typical_mdb(plant, "T1")

    begun = supersede(entry("splitter", "1:4"), BETTER_BY_4)

    assert typical_mdb(plant, "T1") == before_mdb
    assert (begun.uses, progress(begun).left, progress(begun).is_done) == (6, 6, False)


def test_a_take_over_may_stop_after_any_change_and_go_on(plant):
    begun = supersede(entry("splitter", "1:4"), BETTER_BY_4)

    with opened() as change:
        first = catalogue.take_over(change, begun.pk, trees=1)
    halfway = progress(begun)
    assert not list(broken())
    rest = take_over(begun)

    assert 0 < first < begun.uses
    assert halfway.moved == first
    assert 0 < halfway.done_percent < 100
    assert first + sum(rest) == begun.uses
    assert progress(begun).is_done
    assert [each.take_over for each in take_overs()] == [begun]


def test_joints_and_fibres_take_over_as_splitters_do(plant):
    pair = supersede(default_entry(EntryKind.MATED).pk, GRADED)
    take_over(pair)
    fibre = supersede(default_entry(EntryKind.FIBRE).pk, over(least=0.2, typical=0.3, most=0.4))
    take_over(fibre, trees=5)

    assert set(Joint.objects.values_list("entry")) == {(pair.new_id,)}
    assert set(Passage.objects.filter(cable__isnull=False).values_list("entry")) == {
        (fibre.new_id,)
    }
    assert progress(pair).is_done
    assert progress(fibre).is_done
    assert not list(broken())


def test_what_is_measured_stays_measured(plant):
    with opened() as change:
        joints.measure(change, plant.joint("S1.in"), loss_db=0.3)
    before_mdb = typical_mdb(plant, "S1.in")

    take_over(supersede(default_entry(EntryKind.MATED).pk, GRADED))

    assert typical_mdb(plant, "S1.in") == before_mdb


def test_what_is_built_next_takes_the_new_version(plant):
    begun = supersede(default_entry(EntryKind.MATED).pk, GRADED)

    with opened() as change:
        outlet = equipment.install(change, kind="outlet", place=plant.riser, name="U9")

    assert outlet.entry_id == begun.new_id


def test_both_versions_stay_readable(plant):
    old = CatalogueEntry.objects.get(pk=entry("splitter", "1:4"))
    figures = list(old.figures.values_list("bound", "value_mdb", "source"))

    begun = supersede(old.pk, BETTER_BY_4)
    take_over(begun)

    assert list(old.figures.values_list("bound", "value_mdb", "source")) == figures
    assert (begun.new.version, begun.new.name) == (2, "1:4")
    assert begun.change.reason == "new test sheets"


def test_the_explanation_cites_the_new_version(plant):
    take_over(supersede(entry("splitter", "1:4"), BETTER_BY_4))

    told = explain(plant["T1"], plant.channel("O.1"), "down")

    splitter = next(term for term in told.terms if term.by_kind == "splitter")
    assert {figure.citation.source for figure in splitter.figures} == {SHEET}
    assert told.agrees


def test_only_the_newest_version_is_superseded(plant):
    old = entry("splitter", "1:4")
    supersede(old, BETTER_BY_4)

    with nothing_written(), pytest.raises(Superseded, match="was superseded; 2 is the newest"):
        supersede(old, BETTER_BY_4)


def test_a_version_that_is_still_taking_over_is_not_superseded(plant):
    begun = supersede(entry("splitter", "1:4"), BETTER_BY_4)

    with nothing_written(), pytest.raises(Superseded, match="still taking over from 1"):
        supersede(begun.new_id, BETTER_BY_4)


def test_a_version_needs_figures_as_good_as_a_new_entry(plant):
    with nothing_written(), pytest.raises(Malformed, match="no figure for typical"):
        supersede(entry("splitter", "1:4"), over(least=6.1, most=6.8))


def test_a_take_over_that_does_not_exist_is_missing():
    with nothing_written(), pytest.raises(Missing), opened() as change:
        catalogue.take_over(change, 1)


def from_memory():
    return Figure.objects.filter(confidence="memory only").order_by("pk")[0]


def confirm(**options):
    with opened() as change:
        return catalogue.confirm(
            change, **{"noun": "figure", "edition": "G.652 (11/2016)", "table": "2", **options}
        )


def test_a_person_ticks_off_a_figure_with_edition_and_table():
    figure = from_memory()

    confirmation = confirm(row=figure.pk)

    (cited,) = [
        each
        for each in figures_at([figure.entry_id], figure.wavelength_min_nm)[figure.entry_id]
        if each.figure_id == figure.pk
    ]
    assert not cited.citation.is_unconfirmed
    assert cited.citation.confidence == "memory only"
    assert (cited.citation.confirmed.edition, cited.citation.confirmed.table) == (
        "G.652 (11/2016)",
        "2",
    )
    assert cited.citation.confirmed.by == "crew"
    assert cited.citation.confirmed.change_number == confirmation.change_id


def test_a_confirmation_leaves_the_row_as_it_was():
    figure = from_memory()
    before = Figure.objects.filter(pk=figure.pk).values().get()

    confirm(row=figure.pk)

    assert Figure.objects.filter(pk=figure.pk).values().get() == before


def test_a_row_of_a_class_is_ticked_off_as_a_figure_is():
    row = ClassDirection.objects.filter(confidence="memory only").order_by("pk")[0]

    confirmation = confirm(noun="class_direction", row=row.pk)

    assert confirmation.class_direction == row


def test_a_mistaken_confirmation_is_taken_back_and_history_keeps_it():
    figure = from_memory()
    confirmation = confirm(row=figure.pk)

    with opened() as change:
        catalogue.unconfirm(change, confirmation.pk)

    cited = figures_at([figure.entry_id], figure.wavelength_min_nm)[figure.entry_id]
    assert any(each.citation.is_unconfirmed for each in cited)
    assert not list(broken())


@pytest.mark.parametrize(
    ("options", "refusal", "field"),
    [
        ({"noun": "place"}, Malformed, "noun"),
        ({"edition": " "}, Malformed, "edition"),
        ({"table": ""}, Malformed, "table"),
        ({"row": 0}, Missing, "row"),
    ],
)
def test_a_confirmation_without_row_edition_or_table_is_refused(options, refusal, field):
    with nothing_written(), pytest.raises(refusal) as refused:
        confirm(**{"row": from_memory().pk, **options})

    assert refused.value.field == field


def test_the_database_holds_that_a_confirmation_is_of_one_row():
    with nothing_written(), pytest.raises(Overtaken), opened() as change:
        Confirmation.objects.create(edition="x", table="y", change_id=change.number)


def test_the_database_holds_that_a_version_is_taken_over_once(plant):
    begun = supersede(entry("splitter", "1:4"), BETTER_BY_4)

    assert TakeOver._meta.get_field("old").unique
    assert TakeOver._meta.get_field("new").unique
    assert begun.old.taken_over == begun
