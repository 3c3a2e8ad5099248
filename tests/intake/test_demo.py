"""The demo is built by the verbs, is sound, and shows what it promises."""

from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from django.urls import resolve

from labels.choices import place_items
from labels.standing import State, standings
from records import intake
from records.changes import Refusal, bookings, jobs
from records.intake import scenario
from records.management.commands.demo import tag_codes
from records.management.demo_labels import DemoPrinter
from records.models import (
    DWELLINGS,
    Change,
    Channel,
    Equipment,
    Job,
    JobState,
    LegCondition,
    Line,
    Place,
    Point,
    Reading,
    Role,
    Tag,
)
from records.optics.readings import Outcome
from records.queries.invariants import broken
from records.queries.levels import lit_at
from records.queries.readings import latest_readings
from tests.factories import opened, user

FIXTURES = settings.BASE_DIR / "fixtures"
TODAY = datetime(2026, 6, 1, 9, tzinfo=UTC)


@pytest.fixture
def chapters(db):
    """Build the demo, and return the chapters it told of."""
    told = []
    scenario.build(
        actor=get_user_model().objects.create_superuser("demo"),
        at=TODAY,
        printer=DemoPrinter(tag_codes()),
        fixtures=FIXTURES,
        told=told.append,
    )
    return told


def test_the_demo_is_sound_and_shows_what_it_promises(chapters):
    """One test, because building the demo takes seconds."""
    assert len(chapters) == 6
    assert list(broken()) == []
    _has_150_dwellings_in_four_buildings()
    _has_every_leg_condition_and_two_technologies()
    _has_good_and_bad_readings_and_no_level_out_of_class()
    _has_weeks_of_history()
    _has_labels()
    _has_a_job_built_and_not_recorded_and_a_draft_to_think_again_about()
    _refuses_the_booked_leg_that_it_says_to_try()
    _takes_the_clean_sheet_and_shows_the_faults_of_the_other()


def _has_150_dwellings_in_four_buildings():
    assert Place.objects.filter(kind__in=DWELLINGS).count() == 150
    buildings = Place.objects.filter(kind="building").values_list("name", flat=True)
    assert sorted(buildings) == ["Alder Row", "Block A", "Block B", "Block C"]


def _has_every_leg_condition_and_two_technologies():
    legs = Counter(Point.objects.filter(role=Role.LEG).values_list("condition", flat=True))
    assert legs.keys() == set(LegCondition.values)
    systems = Channel.objects.values_list("optical_class__system", flat=True)
    assert set(systems) == {"GPON", "XGS-PON"}
    standbys = Channel.objects.exclude(standby_for=None)
    assert {each.point.number for each in standbys} == {5}
    both = Equipment.objects.get(name="S-C1").ports.filter(role=Role.INPUT)
    assert all(point.feeds.exists() for point in both)


def _has_good_and_bad_readings_and_no_level_out_of_class():
    judged = latest_readings(Reading.objects.values_list("point", flat=True))
    outcomes = Counter(each.verdict.outcome for each in judged)
    assert outcomes[Outcome.NO_LIGHT] == outcomes[Outcome.LOW] == 2
    assert outcomes[Outcome.AS_EXPECTED] > 120
    terminals = Point.objects.filter(role=Role.TERMINAL).values_list("pk", flat=True)
    assert [lit for lit in lit_at(terminals) if lit.down_verdicts or lit.up_verdicts] == []


def _has_weeks_of_history():
    theirs = Change.objects.filter(actor__username="demo").order_by("number")
    days = [change.at for change in theirs]
    assert len(days) > 20
    assert days == sorted(days)
    assert days[-1] == TODAY - timedelta(days=1)
    assert days[-1] - days[0] > timedelta(weeks=6)
    assert all(change.reason for change in theirs)


def _has_labels():
    bound = Tag.objects.exclude(point=None, equipment=None, place=None, cable=None)
    assert bound.exclude(point=None).filter(point__role=Role.LEG).exists()
    assert bound.exclude(place=None).filter(place__kind="riser cupboard").count() == 7
    assert Tag.objects.filter(point=None, equipment=None, place=None, cable=None).exists()
    first = next(iter(tag_codes()))
    assert Tag.objects.order_by("pk")[0].code == first
    estate = Place.objects.get(name=scenario.ESTATE)
    found = standings(place_items(estate))
    states = Counter(each.state for each in found if each.item.kind in {"leg", "panel"})
    assert states[State.GOOD] > 150
    assert states[State.STALE] == 1
    assert State.UNRECORDED not in states
    assert any(each.seen_at for each in found)


def _has_a_job_built_and_not_recorded_and_a_draft_to_think_again_about():
    built, draft = Job.objects.order_by("pk")
    assert (built.state, draft.state) == (JobState.BUILT, JobState.DRAFTED)
    done = jobs.preview(built.pk, actor=user(), at=TODAY)
    assert [home.address for home in done.shifted] == ["Alder Court, Alder Row, Cottage 4"]
    assert done.clash is None
    seen = draft.preview
    assert seen["clash"] is None
    assert [len(step["interrupted"]) for step in seen["steps"]] == [8, 0]
    assert sum(home["verdicts_change"] for home in seen["homes"]) == 8
    assert (len(seen["sum"]["bookings"]), len(seen["sum"]["tags"])) == (9, 9)


def _refuses_the_booked_leg_that_it_says_to_try():
    said = "\n".join(f"{each.do}: {each.see}" for each in scenario.what_to_try(FIXTURES))
    assert "Book leg 5 of S-A2 for Flat 48 of Block A" in said
    assert "leg 25 is spare" in said
    legs = Point.objects.filter(equipment__name="S-A2", role=Role.LEG)
    block = Place.objects.get(name="Block A")
    line = Line.objects.get(place__name="Flat 48", place__path__startswith=block.path)
    with pytest.raises(Refusal, match="is live for line"), opened() as change:
        bookings.book(change, legs.get(number=5).pk, line=line.pk)
    with opened(preview=True) as change:
        bookings.book(change, legs.get(number=25).pk, line=line.pk)


def _takes_the_clean_sheet_and_shows_the_faults_of_the_other():
    clean, faulty = (_plan(name) for name in ("block_d.csv", "block_d_faults.csv"))
    assert clean.is_sound
    assert intake.rehearse(clean, actor=user(), at=TODAY) == ()
    assert {fault.column for fault in faulty.faults} == {
        "Flat",
        "Leg",
        "Fibre",
        "Length (m)",
        "Terminal serial",
        "Reading (dBm)",
    }
    assert [each.column for each in faulty.remarks] == ["Colour of door", "Splitter"]


def _plan(name):
    with (FIXTURES / "demo" / name).open("rb") as file:
        return intake.check(intake.load(file))


def test_seven_things_to_try_each_say_what_they_show():
    tries = scenario.what_to_try(FIXTURES)

    assert len(tries) == 7
    assert all(each.do and each.see for each in tries)
    addresses = [[part.address for part in each.parts if part.address] for each in tries]
    assert all(addresses)
    assert {
        resolve(address.partition("?")[0]).url_name for each in addresses for address in each
    } == {
        "find",
        "intake",
        "jobs",
    }
    assert tries[1].do == "Book leg 5 of S-A2 for Flat 48 of Block A"
