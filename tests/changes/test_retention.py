"""What leads to a person can be cut out, in the past too, and the chain still holds."""

from datetime import timedelta

import pytest
from django.apps import apps
from django.db import DatabaseError

from records.changes import bookings, jobs, lines, retention, sightings, tags
from records.models import Change, Line, Sighting
from records.models.tag_code import candidate
from records.queries import chain
from records.queries.find import find
from records.queries.invariants import broken
from records.queries.moment import as_it_stood
from records.queries.retention import (
    lines_past_use,
    named_people,
    nameless,
    people_idle_since,
    sightings_before,
)
from tests.factories import AT, Plant, opened, user
from tests.guards import run_sql
from tests.unchanged import everything, refused

REF = "Quibble 77"
CODE = next(filter(None, map(candidate, range(32**6, 32**7))))


@pytest.fixture
def plant(db):
    return Plant("""
        splitter S 1:4
        flat 1
        """)


@pytest.fixture
def line(plant):
    with opened() as change:
        return lines.open(change, place=plant.flat("1"), outside_ref=REF)


def owner():
    """Return a user who may cut out what never comes back."""
    found = user("owner")
    found.is_superuser = True
    found.save()
    return found


def owned():
    return opened(actor=owner())


def test_only_an_owner_cuts_out_what_never_comes_back(plant, line):
    for forget in (
        lambda change: retention.forget_outside_ref(change, line.pk),
        lambda change: retention.forget_person(change, line.pk),
        lambda change: retention.forget_sightings(change, seen_before=AT),
    ):
        with refused("owners_only", "crew is none") as change:
            forget(change)


def test_who_scanned_a_label_is_cut_out_and_when_stays(line):
    with opened() as change:
        tag = tags.issue(change, count=1, candidates=[CODE])[0]
    sightings.see(tag, by=user(), at=AT - timedelta(days=1))
    sightings.see(tag, by=user(), at=AT)

    assert sightings_before(AT + timedelta(days=2)) == 2
    with owned() as change:
        retention.forget_sightings(change, seen_before=AT)

    assert list(Sighting.objects.order_by("at").values_list("at", "by__username")) == [
        (AT - timedelta(days=1), None),
        (AT, "crew"),
    ]
    with refused("nothing_to_forget", "02 Mar 2026", field="seen_before", actor=owner()) as change:
        retention.forget_sightings(change, seen_before=AT)
    with refused("malformed", "yet to come", field="seen_before", actor=owner()) as change:
        retention.forget_sightings(change, seen_before=AT + timedelta(days=1))


def test_an_account_is_idle_that_neither_signed_in_nor_changed_anything(plant):
    later = AT + timedelta(days=400)
    idle, signed_in, at_work = (user(name) for name in ("idle", "signed", "worked"))
    for each in (idle, signed_in, at_work):
        each.date_joined = AT - timedelta(days=800)
        each.save()
    signed_in.last_login = later
    signed_in.save()
    with opened(actor=at_work, at=later) as change:
        bookings.bar(change, plant["S.2"], why="dirty")

    assert [each.username for each in people_idle_since(AT + timedelta(days=1))] == ["idle"]


def test_an_outside_reference_is_cut_out_of_all_tables_and_the_chain_holds(line):
    assert find("quibble 77")
    before = Change.objects.latest("number").number

    with owned() as change:
        retention.forget_outside_ref(change, line.pk)

    left = [table for table, rows in everything().items() if "quibble" in repr(rows).casefold()]
    assert left == []
    assert chain.first_break() is None
    assert list(broken()) == []
    with as_it_stood(before):
        assert Line.objects.get(pk=line.pk).outside_ref == ""


def test_what_was_cut_out_is_not_found_any_more_now_or_then(line):
    before = Change.objects.latest("number").number
    with owned() as change:
        retention.forget_outside_ref(change, line.pk)

    assert find("quibble") == []
    with as_it_stood(before):
        assert find("quibble") == []
    assert [each.id for each in find(line.identifier)] == [line.pk]


@pytest.mark.parametrize("typed", [REF, " Quibble  77 "])
def test_a_reference_is_cut_out_of_the_job_that_brought_it(plant, typed):
    step = {
        "verb": "lines.open",
        "arguments": {"place": plant.flat("1"), "outside_ref": typed},
        "note": "",
    }
    with opened() as change:
        job = jobs.draft(change, name="A line", place=plant.estate, steps=[step])
    jobs.preview(job.pk, actor=user(), at=AT)
    with opened(actor=owner()) as change:
        jobs.approve(change, job.pk, revision=1)
    jobs.commit(job.pk, revision=1, actor=user(), at=AT)

    with owned() as change:
        retention.forget_outside_ref(change, Line.objects.get(outside_ref=REF).pk)

    assert "quibble" not in repr(everything()).casefold()
    assert chain.first_break() is None


def test_there_is_nothing_to_forget_twice(line):
    with owned() as change:
        retention.forget_outside_ref(change, line.pk)
    with refused("nothing_to_forget", f"Line {line}", field="line", actor=owner()) as change:
        retention.forget_outside_ref(change, line.pk)
    with refused("missing", field="line", actor=owner()) as change:
        retention.forget_outside_ref(change, 10**9)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE records_line_history SET outside_ref = 'someone else'",
        "UPDATE records_searchtext_history SET words = 'someone else'",
        "UPDATE records_line_history SET identifier = ''",
    ],
)
def test_history_can_be_blanked_there_and_nothing_else(line, statement):
    with pytest.raises(DatabaseError, match="append-only"):
        run_sql([statement])


def test_a_persons_name_is_cut_out_and_the_chain_holds(plant):
    ana = user("ana.quibble")
    ana.first_name, ana.last_name, ana.email = "Ana", "Quibble", "quibble@example.org"
    ana.set_password("a long pass phrase")
    ana.save()
    apps.get_model("authtoken", "Token").objects.create(user=ana)
    apps.get_model("axes", "AccessLog").objects.create(
        username="ana.quibble", ip_address="10.0.0.9"
    )
    with opened(actor=ana) as change:
        bookings.bar(change, plant["S.2"], why="dirty")

    with owned() as forgetting:
        retention.forget_person(forgetting, ana.pk)

    ana.refresh_from_db()
    assert ana.get_username() == f"person-{ana.pk}"
    assert (ana.get_full_name(), ana.email, ana.is_active) == ("", "", False)
    assert not ana.has_usable_password()
    assert not apps.get_model("authtoken", "Token").objects.filter(user=ana).exists()
    assert not apps.get_model("axes", "AccessLog").objects.filter(username="ana.quibble").exists()
    assert Change.objects.get(number=change.number).actor_id == ana.pk
    assert chain.first_break() is None
    assert "quibble" not in repr(everything()).casefold()


def test_only_who_was_forgotten_is_nameless(db):
    gone, called_so = user("left"), user("person-in-charge")
    called_so.is_active = False
    called_so.save()
    with owned() as change:
        retention.forget_person(change, gone.pk)

    left = [each.get_username() for each in named_people()]
    assert "person-in-charge" in left
    assert nameless(gone.pk) not in left


def test_no_one_forgets_themselves_or_anyone_twice(db):
    with refused("own_account", field="person", actor=owner()) as change:
        retention.forget_person(change, change.actor.pk)
    other = user("ben")
    with owned() as change:
        retention.forget_person(change, other.pk)
    with refused(
        "nothing_to_forget", f"person-{other.pk}", field="person", actor=owner()
    ) as change:
        retention.forget_person(change, other.pk)


def test_a_line_is_past_its_use_once_its_leg_was_released_before_then(plant, line):
    with opened() as booked:
        bookings.book(booked, plant["S.1"], line=line.pk)
    with opened() as released:
        bookings.release(released, plant["S.1"])
    with opened() as later:
        bookings.bar(later, plant["S.1"], why="dirty")

    assert lines_past_use(later.number) == [line]
    assert lines_past_use(booked.number) == []


def test_a_line_in_use_or_opened_since_is_kept(plant, line):
    with opened() as opened_later:
        young = lines.open(opened_later, place=plant.flat("1"), outside_ref="young")
    with opened() as change:
        bookings.book(change, plant["S.1"], line=line.pk)

    assert lines_past_use(opened_later.number - 1) == []
    assert lines_past_use(change.number) == [young]
