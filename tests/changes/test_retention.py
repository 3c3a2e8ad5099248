"""What leads to a person can be cut out, in the past too, and the chain still holds."""

import pytest
from django.apps import apps
from django.db import DatabaseError

from records.changes import bookings, lines, retention
from records.models import Change, Line
from records.queries import chain
from records.queries.find import find
from records.queries.invariants import broken
from records.queries.moment import as_it_stood
from records.queries.retention import lines_past_use
from tests.factories import Plant, opened, user
from tests.guards import run_sql
from tests.unchanged import everything, refused

REF = "Quibble-77"


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


def test_an_outside_reference_is_cut_out_of_all_tables_and_the_chain_holds(line):
    assert find("quibble 77")
    before = Change.objects.latest("number").number

    with opened() as change:
        retention.forget_outside_ref(change, line.pk)

    left = [table for table, rows in everything().items() if "quibble" in repr(rows).casefold()]
    assert left == []
    assert chain.first_break() is None
    assert list(broken()) == []
    with as_it_stood(before):
        assert Line.objects.get(pk=line.pk).outside_ref == ""


def test_what_was_cut_out_is_not_found_any_more_now_or_then(line):
    before = Change.objects.latest("number").number
    with opened() as change:
        retention.forget_outside_ref(change, line.pk)

    assert find("quibble") == []
    with as_it_stood(before):
        assert find("quibble") == []
    assert [each.id for each in find(line.identifier)] == [line.pk]


def test_there_is_nothing_to_forget_twice(line):
    with opened() as change:
        retention.forget_outside_ref(change, line.pk)
    with refused("nothing_to_forget", f"Line {line}", field="line") as change:
        retention.forget_outside_ref(change, line.pk)
    with refused("missing", field="line") as change:
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

    with opened() as forgetting:
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


def test_no_one_forgets_themselves_or_anyone_twice(db):
    with refused("own_account", field="person") as change:
        retention.forget_person(change, change.actor.pk)
    other = user("ben")
    with opened() as change:
        retention.forget_person(change, other.pk)
    with refused("nothing_to_forget", f"person-{other.pk}", field="person") as change:
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
