"""Rows built together make the same record as rows built one by one, in a fraction of the time."""

import random

import pytest

from records import intake
from records.changes import cables
from records.intake import _commit
from records.models import Booking, Change, Reading, SearchText
from records.queries.invariants import broken
from tests.by_name import record_by_name
from tests.factories import AT, Plant, opened, user
from tests.intake.sheets import checked, rehearsed, row, said, taken_in
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x3
    splitter S 1:32
    splitter R 2:32
    splitter D 1:16
    cable F 1200 m x3
    light O.1 GPON B+
    light O.2 GPON B+
    light O.3 GPON B+ standby O.2
    O.1 = F.1 = S
    O.2 = F.2 = R.in1
    O.3 = F.3 = R.in2
"""
"""A lit splitter, one fed from two ports, and a dark one."""


@pytest.fixture
def plant():
    return Plant(PLANT)


def _any_row(chance, number, used):
    """Return a sound row: on any splitter or none, with a cable of its own or shared."""
    splitter = chance.choice(("S", "R", "D", "NEW", ""))
    leg = used[splitter] = used.get(splitter, 0) + 1
    is_shared = chance.random() < 0.3
    cable = f"R{number // 8} {splitter}" if is_shared else f"D{number}"
    fibre = used[cable] = used.get(cable, 0) + 1
    is_cabled = chance.random() < 0.8
    return row(
        number,
        floor=number // 6,
        splitter=splitter,
        leg=leg if splitter else "",
        cable=cable if is_cabled else "",
        fibre=fibre if is_cabled else "",
        serial=f"TX{number:04d}" if is_cabled and chance.random() < 0.7 else "",
        reading=chance.choice((-19.5, -26, "no light", "")) if is_cabled else "",
        note=chance.choice(("", "bend")),
        fibres=12 if is_shared and is_cabled else "",
    )


def _random_rows(seed, count=40):
    chance, used = random.Random(seed), {}
    return [_any_row(chance, number, used) for number in range(1, count + 1)]


def _told(plan):
    """Build a plan and leave nothing of it; return what came of it."""
    with opened(preview=True) as change, change.as_one_step(intake.TAKE_IN):
        assert list(_commit._built(change, plan, None)) == []
        readings = Reading.objects.values_list("point__equipment__place__name", "level_mdbm")
        bookings = Booking.objects.values_list(
            "leg__equipment__name", "leg__number", "line__place__name", "state"
        )
        record = record_by_name() | {
            # By flat: a line's identifier follows a sequence, which moves on where rows go again.
            "bookings": sorted(bookings),
            "readings": sorted(map(str, readings)),
            "words": sorted(SearchText.objects.exclude(noun="line").values_list("words")),
        }
    effect = change.effect()
    noted = sorted(each["what"] for each in effect["bookings"])
    lit = len(effect["terminals_lit"]), effect["feeds_written"]
    return record, noted, lit, sorted(effect["warnings"])


@pytest.mark.parametrize("seed", [1, 2])
def test_rows_built_together_make_the_record_of_rows_one_by_one(plant, monkeypatch, seed):
    rows = _random_rows(seed)
    taken_in(*rows[:9], more="note | fibres")
    plan = checked(*rows, more="note | fibres")
    assert plan.is_sound, said(plan)

    together = _told(plan)
    with monkeypatch.context() as patched:
        patched.setattr(_commit, "TOGETHER", 1)
        one_by_one = _told(plan)
    intake.commit(plan, actor=user(), at=AT)

    assert together == one_by_one
    assert list(broken()) == []


@pytest.mark.parametrize("splitter", ["S", "R", "NEW"])
def test_a_row_costs_few_statements(plant, django_assert_max_num_queries, splitter):
    plan = checked(*(row(n, splitter=splitter) for n in range(1, 31)))
    assert plan.is_sound, said(plan)

    with django_assert_max_num_queries(30 * 6):
        intake.commit(plan, actor=user(), at=AT)

    assert list(broken()) == []


def test_rows_beside_one_that_is_refused_are_tried_and_none_is_kept(plant):
    with opened() as change:
        cables.lay(change, name="D2", a_place=plant.riser, b_place=plant.building, length_m=22)
    plan = checked(*(row(n) for n in range(1, 5)))
    before = Change.objects.count()

    with nothing_written():
        (fault,) = rehearsed(plan)
        with pytest.raises(intake.FaultsError) as caught:
            intake.commit(plan, actor=user(), at=AT)

    assert caught.value.faults == (fault,)
    assert (fault.row, fault.column) == (3, "leg")
    assert Change.objects.count() == before
