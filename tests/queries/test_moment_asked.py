"""A past moment is asked for by a change's number, a day or a time; the future by none."""

from datetime import timedelta

import pytest

from records.models import Change
from records.queries.moment import NoSuchMomentError, moment_asked
from tests.factories import AT, Plant, opened

NOW = AT + timedelta(days=2, hours=1)


@pytest.fixture
def numbers(db):
    """Return the changes of the plant, of that evening, and of the day after."""
    Plant("flat 1")
    with opened(at=AT + timedelta(hours=9)) as evening:
        pass
    with opened(at=AT + timedelta(days=1)) as after:
        pass
    return Change.objects.get(reason="a plant").number, evening.number, after.number


@pytest.mark.parametrize(
    ("text", "which"),
    [
        ("2026-03-02", 1),
        ("2026-03-03", 2),
        ("2026-03-04", 2),
        ("2026-03-02T09:30:00Z", 0),
        ("2026-03-02T18:29", 0),
        ("2026-03-02T18:30", 1),
        ("2026-03-02T20:30+02:00", 1),
    ],
)
def test_a_day_is_its_end_and_a_time_is_that_very_one(numbers, text, which):
    assert moment_asked(text, now=NOW) == numbers[which]


def test_a_number_is_that_of_a_change(numbers):
    assert moment_asked(str(numbers[1]), now=NOW) == numbers[1]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2026-03-05", "There is no record of 2026-03-05 yet: that is in the future."),
        ("2026-03-04T10:30:01Z", "that is in the future"),
        ("9999-12-31", "that is in the future"),
        ("2026-03-01", "There was no record yet on 2026-03-01."),
        ("999999", "There is no change 999999."),
        ("2026-02-30", "Give the number of a change, a day such as 2026-03-02, or a time"),
        ("soon", "There is no moment 'soon'."),
    ],
)
def test_what_is_no_past_moment_is_told_in_words(numbers, text, words):
    with pytest.raises(NoSuchMomentError) as told:
        moment_asked(text, now=NOW)

    assert words in str(told.value)
