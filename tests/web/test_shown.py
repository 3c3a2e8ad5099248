"""How figures are rounded and said."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from records.handover import figures
from records.queries.history import FieldChange
from records.web import links, marks, shown

NBSP = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"


@pytest.mark.parametrize(
    ("value", "places", "said"),
    [
        (-17.849, 2, f"{MINUS}17.85"),
        (-0.001, 2, "0.00"),
        (-0.04, 1, "0.0"),
        (0.005, 2, "0.01"),
        (12.0, 1, "12.0"),
    ],
)
def test_a_number_is_rounded_with_a_true_minus_and_never_a_negative_zero(value, places, said):
    assert figures.number(value, places) == said


def test_levels_and_losses_stay_with_their_unit():
    assert figures.dbm(-8.0) == f"{MINUS}8.00{NBSP}dBm"
    assert figures.db(0.3) == f"0.30{NBSP}dB"
    assert figures.signed_db(1.2) == f"+1.20{NBSP}dB"
    assert figures.signed_db(-1.2) == f"{MINUS}1.20{NBSP}dB"
    assert figures.signed_db(0.001) == f"0.00{NBSP}dB"


@pytest.mark.parametrize(
    ("length_m", "said"),
    [(0, "0"), (1.5, "1.5"), (2.25, "2.25"), (30.0, "30"), (1234.56, "1,234.6")],
)
def test_a_length_is_said_as_a_tape_reads_it(length_m, said):
    assert figures.metres(length_m) == f"{said}{NBSP}m"


def test_a_long_length_is_said_in_kilometres():
    assert figures.metres(20_000) == f"20{NBSP}km"
    assert figures.metres(12_346) == f"12.35{NBSP}km"


def test_a_moment_is_said_in_utc():
    at = datetime(2026, 3, 2, 23, 30, tzinfo=timezone(timedelta(hours=-2)))

    assert shown.moment(at) == (
        '<time datetime="2026-03-03T01:30:00+00:00">03 Mar 2026, 01:30 UTC</time>'
    )
    assert shown.moment(at.astimezone(UTC)) == shown.moment(at)


def test_only_the_hyphen_of_a_number_becomes_a_minus():
    assert figures.minus("too weak: -27.50 dBm on S-A1 (-2 dB)") == (
        f"too weak: {MINUS}27.50 dBm on S-A1 ({MINUS}2 dB)"
    )


def test_a_name_can_not_bring_markup():
    assert "<b>" not in shown.named("<b>x</b> (<i>y</i>)")


def test_altered_fields_are_said_in_units_a_person_reads():
    changed = (
        FieldChange(field="measured mdb", before=None, after=350),
        FieldChange(field="length cm", before=1200, after=1250),
        FieldChange(field="condition", before="held", after="live"),
    )

    assert [(each.label, each.before, each.after) for each in shown.shown_fields(changed)] == [
        ("measured", "nothing", f"0.35{NBSP}dB"),
        ("length", f"12{NBSP}m", f"12.5{NBSP}m"),
        ("condition", "held", "live"),
    ]


def test_every_condition_and_verdict_has_a_shape_of_its_own():
    conditions = ["spare", "held", "live", "onward", "barred"]
    fibres = ["available", "used", "unterminated", "damaged"]
    outcomes = ["as expected", "low", "high", "no light", "unexpected"]

    for family in (conditions, fibres, outcomes):
        shapes = {marks.drawn(word) for word in family}
        assert len(shapes) == len(family)
        assert "" not in shapes


def test_only_nouns_with_a_page_have_an_address():
    with pytest.raises(ValueError, match="'tag' has no page"):
        links.url_of("tag", 1)


def test_a_verbs_address_carries_the_fields_that_are_known():
    assert links.do_url("joints.part", joint=12, reason=None) == "/do/joints.part/?joint=12"
    assert links.do_url("places.add") == "/do/places.add/"
