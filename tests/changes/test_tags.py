"""Tags: only true codes are issued; a roll is bound in one go, all of it or none."""

from itertools import count, islice

import pytest

from records.changes import tags
from records.changes.tags import Binding
from records.models import Tag
from records.models.tag_code import candidate
from tests.factories import Plant, opened
from tests.unchanged import refused

pytestmark = pytest.mark.django_db

CODES = list(islice(filter(None, map(candidate, count(7_000_000, 31))), 80))


@pytest.fixture
def plant():
    plant = Plant("splitter S 1:32\nsplitter R 1:32\ncable D 30 m x2\nflat 3")
    with opened() as change:
        tags.issue(change, count=len(CODES), candidates=CODES)
    return plant


def bindings(plant, among=CODES):
    legs = [plant[f"{splitter}.{leg}"] for splitter in "SR" for leg in range(1, 33)]
    return [
        Binding(code=code, noun="point", thing=leg) for code, leg in zip(among, legs, strict=False)
    ]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("7K3M9QX9", "its check character does not fit"),
        ("7K3M9QU8", "is U, which no tag code has"),
        ("7K3M", "this has 4"),
    ],
)
def test_what_is_no_code_is_never_issued(code, text):
    with refused("malformed", text, field="candidates") as change:
        tags.issue(change, count=1, candidates=[code])

    assert not Tag.objects.exists()


def test_a_roll_is_bound_in_one_go(plant, django_assert_max_num_queries):
    wanted = bindings(plant)

    with opened() as change, django_assert_max_num_queries(8):
        tags.bind_all(change, wanted)

    assert Tag.objects.get(code=CODES[40]).point_id == plant["R.9"]
    assert Tag.objects.exclude(point=None).count() == 64


def test_a_roll_may_hang_on_things_of_all_kinds(plant):
    with opened() as change:
        tags.bind_all(
            change,
            [
                Binding(code=CODES[0], noun="equipment", thing=plant.id("S")),
                Binding(code=CODES[1].lower(), noun="cable", thing=plant.id("D"), cable_end="B"),
                Binding(code=CODES[2], noun="line", thing=plant.line("3")),
                Binding(code=CODES[3], noun="place", thing=plant.riser),
            ],
        )

    assert Tag.objects.get(code=CODES[1]).cable_end == "B"


WRONG = {
    "a code twice": ("malformed", "is named twice", lambda plant: bindings(plant)[:1] * 2),
    "no code": (
        "malformed",
        "does not fit",
        lambda plant: [*bindings(plant), Binding(code="7K3M9QX9", noun="point", thing=1)],
    ),
    "a code of another owner": (
        "missing",
        "was ever issued here",
        lambda plant: [*bindings(plant), Binding(code="00000000", noun="place", thing=1)],
    ),
    "a thing that is not there": (
        "missing",
        "There is no point number 999999",
        lambda plant: [*bindings(plant), Binding(code=CODES[70], noun="point", thing=999_999)],
    ),
    "a cable without its end": (
        "malformed",
        "'' is not a bindings",
        lambda plant: [Binding(code=CODES[0], noun="cable", thing=plant.id("D"))],
    ),
    "nothing": ("malformed", "0 tags", lambda _plant: []),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_roll_with_one_fault_is_not_bound_at_all(plant, wrong):
    code, text, wanted = WRONG[wrong]

    with refused(code, text, field="bindings") as change:
        tags.bind_all(change, wanted(plant))

    assert not Tag.objects.exclude(point=None, cable=None).exists()


def test_a_tag_that_hangs_already_keeps_the_rest_of_its_roll_back(plant):
    with opened() as change:
        tags.bind(change, CODES[5], noun="place", thing=plant.riser)

    with refused("tag_bound", "already hangs on", field="bindings") as change:
        tags.bind_all(change, bindings(plant))
