"""Figures as people type them."""

import pytest
from django import forms
from django.core.exceptions import ValidationError

from records.web.forms.fields import CountField, FigureField, PolishField, ThingField

LOSS = FigureField("dB", label="Loss")
LEVEL = FigureField("dBm", label="Level", can_be_negative=True)
LENGTH = FigureField("m", label="Length")


@pytest.mark.parametrize(
    ("field", "typed", "value"),
    [
        (LOSS, "0.35", 0.35),
        (LOSS, "0,35", 0.35),
        (LOSS, ",35", 0.35),
        (LOSS, " 7,2 dB ", 7.2),
        (LEVEL, "-18.25", -18.25),
        (LEVEL, "\N{MINUS SIGN}18,25", -18.25),
        (LEVEL, "\N{EN DASH}18 dBm", -18),
        (LEVEL, "-0,125", -0.125),
        (LENGTH, "1200", 1200),
        (LENGTH, "1 200 m", 1200),
        (LENGTH, "1\N{NO-BREAK SPACE}200,5", 1200.5),
        (LENGTH, "1200.125", 1200.125),
    ],
)
def test_a_figure_is_read_with_comma_or_point_and_with_or_without_its_unit(field, typed, value):
    assert field.clean(typed) == value


@pytest.mark.parametrize("typed", ["1,200", "12,500 m", "-1,250"])
def test_a_comma_that_may_mean_thousands_is_asked_about(typed):
    with pytest.raises(ValidationError, match="could be"):
        LENGTH.clean(typed)


@pytest.mark.parametrize(
    "typed", ["about 5", "5 dBm", "1.2.3", "1,2,3", "--4", "nan", "inf", "1_0"]
)
def test_what_is_no_figure_is_said_to_be_none(typed):
    with pytest.raises(ValidationError, match="is not a number"):
        LOSS.clean(typed)


def test_a_label_names_its_unit():
    assert LOSS.label == "Loss (dB)"


def test_a_level_can_be_typed_on_a_keypad_that_has_a_minus():
    assert LEVEL.widget.attrs["inputmode"] == "text"
    assert LOSS.widget.attrs["inputmode"] == "decimal"


def test_a_count_is_whole():
    assert CountField().clean("12") == 12
    with pytest.raises(ValidationError, match=r"'1\.5' is not a whole number"):
        CountField().clean("1.5")


@pytest.mark.parametrize("typed", ["x", "1.0", "-1", "9" * 40, "1; DROP"])
def test_an_id_that_can_be_none_is_refused(typed):
    with pytest.raises(ValidationError, match="is not a point known here"):
        ThingField("point").clean(typed)


def test_a_bare_end_is_another_answer_than_none():
    assert PolishField().clean("bare") == ""
    assert PolishField(usual="as usual").clean("") is None


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        (forms.CharField(max_length=3), "", "This is empty. Fill it in."),
        (forms.CharField(max_length=3), "four", "This has 4 characters; give at most 3."),
        (
            forms.DateTimeField(),
            "noon",
            "This is not a date and time. Give it as 2026-03-02 09:30.",
        ),
        (
            forms.ChoiceField(choices=[("mated", "mated")]),
            "zebra",
            "'zebra' is not among the choices. Choose one of those shown.",
        ),
        (CountField(max_value=9), "10", "10 is too large; give at most 9."),
    ],
)
def test_a_wrong_value_is_told_in_the_words_of_the_house(field, typed, said):
    with pytest.raises(ValidationError) as caught:
        field.clean(typed)

    assert caught.value.messages == [said]


def test_the_example_of_a_date_and_time_is_one_that_is_taken():
    assert forms.DateTimeField().clean("2026-03-02 09:30")
