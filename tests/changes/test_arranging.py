"""Steps put in, moved and taken out: each reference leads to the step it led to before."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.changes import arranging, references
from records.changes.steps import StepMalformed


@st.composite
def plans(draw):
    """Return steps told apart by their notes, each referring to some of those before it."""
    count = draw(st.integers(1, 7))
    return [
        {
            "verb": "joints.join",
            "note": f"deed {number}",
            "arguments": {
                "a": 7,
                "b": [
                    {"step": other, "port": "leg 1"}
                    for other in draw(
                        st.sets(st.integers(1, number - 1)) if number > 1 else st.just(set())
                    )
                ],
            },
        }
        for number in range(1, count + 1)
    ]


def meaning(steps):
    """Return which deed refers to which, whatever their numbers."""
    return {
        (step["note"], steps[told["step"] - 1]["note"])
        for step in steps
        for told in references.within(step["arguments"]["b"])
    }


def is_in_order(steps):
    return all(
        told["step"] < number
        for number, step in enumerate(steps, start=1)
        for told in references.within(step["arguments"]["b"])
    )


NEW = {"verb": "places.retire", "note": "new", "arguments": {"b": []}}


@given(plans(), st.integers(0, 9))
def test_putting_a_step_in_changes_no_other_steps_meaning(steps, at):
    after = arranging.inserted(steps, NEW, at)

    assert meaning(after) == meaning(steps)
    assert len(after) == len(steps) + 1
    assert is_in_order(after)


@given(plans(), st.data())
def test_a_move_keeps_the_meaning_or_is_refused(steps, data):
    number = data.draw(st.integers(1, len(steps)))
    to = data.draw(st.integers(1, len(steps)))
    wanted = [step["note"] for step in steps]
    wanted.insert(to - 1, wanted.pop(number - 1))

    if any(wanted.index(used) > wanted.index(user) for user, used in meaning(steps)):
        with pytest.raises(StepMalformed, match="so it must come after it"):
            arranging.moved(steps, number, to)
        return

    after = arranging.moved(steps, number, to)
    assert [step["note"] for step in after] == wanted
    assert meaning(after) == meaning(steps)
    assert is_in_order(after)


@given(plans(), st.data())
def test_a_step_is_taken_out_only_if_no_other_uses_what_it_makes(steps, data):
    number = data.draw(st.integers(1, len(steps)))
    is_used = any(used == f"deed {number}" for _user, used in meaning(steps))

    if is_used:
        with pytest.raises(StepMalformed, match="can't be taken out"):
            arranging.removed(steps, number)
        return

    after = arranging.removed(steps, number)
    assert meaning(after) == {pair for pair in meaning(steps) if pair[0] != f"deed {number}"}


@pytest.mark.parametrize(
    "told",
    [
        {"step": 1},
        {"step": 12, "port": "leg 3"},
        {"step": 1, "port": "terminal port 1"},
        {"step": 2, "fibre": 4, "end": "B"},
        {"step": 3, "line": 1},
        {"step": 4, "part": "far_cable"},
        {"step": 4, "part": "far_cable", "fibre": 1, "end": "A"},
        {"step": 4, "part": "closure"},
    ],
)
def test_a_reference_in_words_is_read_again(told):
    assert references.from_words(references.in_words(told)) == told


@pytest.mark.parametrize("text", ["", "12", "step", "leg 3 of S1", "step 1 of 2", "one of step 1"])
def test_other_words_are_no_reference_or_name_a_part(text):
    told = references.from_words(text)
    assert told is None or told == {"step": 1, "part": "one"}
