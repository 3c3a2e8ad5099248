"""Readings: what no meter can have shown is refused, what is odd is warned of."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from records import changes
from records.changes import joints, readings
from records.changes.refusals import Malformed
from records.models import Reading
from records.queries.levels import lit_at
from tests.factories import AT, Plant, opened, user

pytestmark = pytest.mark.django_db

PLANT = """
    olt O
    splitter S 1:4
    cable F 900 m
    cable D 30 m
    outlet U @1
    terminal T @1
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 = D ~ U - T
"""


@pytest.fixture
def plant():
    return Plant(PLANT)


def read(plant, point="T", **told):
    with opened() as change:
        readings.read(change, plant[point], **{"wavelength_nm": 1490, "level_dbm": -18.0} | told)
    return change


@pytest.mark.parametrize(
    ("told", "field", "words"),
    [
        ({"level_dbm": 16.7}, "level_dbm", "16.7 dBm is above what any home terminal bears"),
        ({"level_dbm": 30.0}, "level_dbm", "is a minus sign missing?"),
        ({"level_dbm": -80.0}, "level_dbm", "-80 dBm is below what a meter shows."),
        ({"level_dbm": float("nan")}, "level_dbm", "is not possible"),
        (
            {"taken_at": datetime(1066, 10, 14, 9, tzinfo=UTC)},
            "taken_at",
            "1066-10-14 is before there was any PON to read.",
        ),
        ({"taken_at": AT + timedelta(hours=1)}, "taken_at", "is in the future."),
    ],
)
def test_what_no_meter_can_have_shown_in_a_home_is_refused(plant, told, field, words):
    with pytest.raises(Malformed, match=re.escape(words)) as refused:
        read(plant, **told)

    assert (refused.value.field, refused.value.code) == (field, "malformed")


def test_the_launch_of_an_olt_or_a_terminal_may_be_above_zero(plant):
    # Source: ITU-T G.984.2 Amd 1, class B+: the OLT sends 1.5 to 5 dBm, the terminal 0.5 to 5 dBm.
    assert read(plant, "O.1", level_dbm=3.0).warnings == []
    assert read(plant, level_dbm=2.0, direction="up", wavelength_nm=1310)


def test_a_wavelength_of_no_channel_that_way_is_warned_of(plant):
    # Source: ITU-T G.984.2: 1480 to 1500 nm down, class B+ 1290 to 1330 nm up.
    warned = (
        "terminal port 1 of T (Alder Close, Block A, Flat 1): 1310 nm down is of no channel that "
        "is lit here: GPON B+ is 1490 nm down and 1310 nm up"
    )

    assert read(plant, wavelength_nm=1310).warnings == [warned]
    assert read(plant, wavelength_nm=1310, level_dbm=None).warnings == [warned]


def test_a_reading_from_before_the_record_is_warned_of(plant):
    told = read(plant, taken_at=datetime(2006, 3, 2, tzinfo=UTC)).warnings

    assert told[-1].endswith(": taken on 2006-03-02, before this record began")


def test_a_preview_tells_how_far_the_level_is_from_what_is_expected(plant):
    with changes.opened(actor=user(), at=AT, preview=True) as change:
        readings.read(change, plant["T"], wavelength_nm=1490, level_dbm=-26.0)

    (lit,) = lit_at([plant["T"]])
    assert change.steps[-1]["words"].endswith(
        f": low, {-26 - lit.level.typical_dbm:+.2f} dB against typical, where "
        f"{lit.level.least_dbm:.2f} to {lit.level.most_dbm:.2f} dBm is expected"
    )


def test_a_reading_from_before_the_light_was_taken_away_says_so(plant):
    taken_at = AT - timedelta(minutes=1)
    with opened() as change:
        joints.part(change, plant.joint("T"))

    told = read(plant, taken_at=taken_at).warnings

    assert told[0].endswith(f": taken before change {change.number} took away the light")


def test_a_round_is_kept_whole_and_a_refusal_tells_which_reading(plant):
    def measured(point, **told):
        return readings.Measured(point=plant[point], wavelength_nm=1490, **told)

    with opened() as change:
        kept = readings.read_all(
            change, [measured("T", level_dbm=-30.0), measured("S.2", level_dbm=None)]
        )
    late = measured("T", level_dbm=-18.0, taken_at=AT + timedelta(hours=1))
    with pytest.raises(Malformed, match="in the future") as refused, opened() as other:
        readings.read_all(other, [measured("T", level_dbm=-18.0), late])

    assert [each.point_id for each in kept] == [plant["T"], plant["S.2"]]
    assert [each["words"] for each in change.steps] == ["read 2 levels: 1 low, 1 no light"]
    assert refused.value.field == "readings.2.taken_at"
    assert Reading.objects.count() == 2
