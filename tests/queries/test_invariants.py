"""Each law holds on a sound record and is seen to be broken on a broken one."""

import re

import pytest
from django.core.management import call_command

from records.queries.invariants import INVARIANTS, broken
from tests.factories import Plant
from tests.guards import guards_off, run_sql

PLANT = """
    olt O x2
    splitter S 1:4
    splitter S2 1:8
    cable F 1200 m x2
    cable D 30 m
    outlet U @1
    terminal T @1
    flat 2
    light O.1 GPON B+
    light O.2 GPON C+
    O.1 = F.1 = S
    S.1 - S2
    book S2.3 for 1
    S2.3 = D ~ U - T
    bar S2.8 broken tail
    """

BREACHES = [
    ("joints_have_two_ends", ["DELETE FROM records_jointend WHERE point_id = {T}"]),
    (
        "legs_and_lines_have_one_open_booking",
        [
            "DROP INDEX booking_one_open_per_leg",
            "DROP INDEX booking_one_open_per_line",
            """INSERT INTO records_booking (leg_id, line_id, state)
            SELECT leg_id, line_id, 'held' FROM records_booking""",
        ],
    ),
    ("leg_conditions_follow", ["UPDATE records_point SET condition = 'spare' WHERE id = {S.1}"]),
    ("leg_conditions_follow", ["UPDATE records_point SET condition = 'held' WHERE id = {S.2}"]),
    ("leg_conditions_follow", ["UPDATE records_point SET condition = 'held' WHERE id = {S2.3}"]),
    ("leg_conditions_follow", ["UPDATE records_point SET barred_reason = '' WHERE id = {S2.8}"]),
    ("leg_conditions_follow", ["UPDATE records_point SET barred_reason = 'x' WHERE id = {S2.3}"]),
    ("cables_have_their_fibres", ["UPDATE records_cable SET fibre_count = 3 WHERE name = 'F'"]),
    ("places_form_a_tree", ["UPDATE records_place SET numchild = 7 WHERE name = 'Riser'"]),
    ("places_form_a_tree", ["UPDATE records_place SET depth = 4 WHERE name = 'Riser'"]),
    (
        "tags_have_their_check_character",
        ["INSERT INTO records_tag (code, cable_end, voided) VALUES ('ABCDEFG1', '', '')"],
    ),
    (
        "feeds_equal_a_recomputation",
        ["UPDATE records_feed SET up_most_mdb = up_most_mdb + 1 WHERE point_id = {T}"],
    ),
    ("feeds_equal_a_recomputation", ["DELETE FROM records_feed WHERE point_id = {T}"]),
    ("feeds_equal_a_recomputation", ["DELETE FROM records_jointend WHERE point_id = {S.in}"]),
    (
        "feeds_form_a_tree",
        ["UPDATE records_feed SET upstream_id = point_id WHERE point_id = {S.in}"],
    ),
    (
        "wavelengths_meet_only_as_main_and_standby",
        ["UPDATE records_feed SET point_id = {S.in}, upstream_id = {F.1b} WHERE point_id = {O.2}"],
    ),
    (
        "light_crosses_a_joint_one_way",
        ["UPDATE records_feed SET point_id = {F.1b}, upstream_id = {S.in} WHERE point_id = {O.2}"],
    ),
    ("light_and_bookings_agree", ["UPDATE records_booking SET state = 'held'"]),
    ("light_and_bookings_agree", ["DELETE FROM records_booking"]),
    ("light_and_bookings_agree", ["DELETE FROM records_feed WHERE point_id = {T}"]),
    (
        "light_and_bookings_agree",
        [
            """UPDATE records_equipment SET place_id = (
                SELECT id FROM records_place WHERE name = 'Flat 2') WHERE name = 'T'"""
        ],
    ),
    ("history_holds_what_stands", ["UPDATE records_equipment SET serial = 'X' WHERE name = 'T'"]),
    (
        "history_holds_what_stands",
        ["UPDATE records_point SET measured_mdb = 3500 WHERE id = {S.2}"],
    ),
    ("history_holds_what_stands", ["DELETE FROM records_booking"]),
    ("history_holds_what_stands", ["DELETE FROM records_feed_history WHERE point_id = {T}"]),
    (
        "versions_do_not_overlap",
        ["UPDATE records_place_history SET until = since - 1 WHERE name = 'Riser'"],
    ),
    (
        "versions_do_not_overlap",
        [
            """INSERT INTO records_joint_history (id, kind, entry_id, tray, since, until)
            SELECT id, kind, entry_id, tray, since, until FROM records_joint_history"""
        ],
    ),
    ("versions_do_not_overlap", ["UPDATE records_line_history SET since = 999999 WHERE row > 0"]),
    ("changes_are_as_sealed", ["UPDATE records_change SET reason = 'x' WHERE number > 1"]),
    ("changes_are_as_sealed", ["UPDATE records_joint_history SET tray = 'x'"]),
    ("changes_are_sealed", ["UPDATE records_change SET sealed = false WHERE reason = 'a plant'"]),
    (
        "search_words_are_current",
        ["UPDATE records_searchtext SET words = 'x' WHERE noun = 'line'"],
    ),
    ("search_words_are_current", ["DELETE FROM records_searchtext WHERE noun = 'cable'"]),
]


def _broken_laws():
    by_text = {" ".join((law.__doc__ or "").split()): law.__name__ for law in INVARIANTS}
    return {by_text[finding.law]: finding.words for finding in broken()}


def test_a_plant_built_by_the_verbs_keeps_every_law(db):
    Plant(PLANT)

    assert list(broken()) == []


@pytest.mark.parametrize(("law", "statements"), BREACHES)
def test_a_breach_is_found_and_told_in_words(law, statements, db):
    plant = Plant(PLANT)
    run_sql(guards_off())
    points = re.compile(r"{([\w.]+)}")

    run_sql(points.sub(lambda name: str(plant[name[1]]), each) for each in statements)

    assert _broken_laws().get(law)


def test_every_law_has_a_breach_above():
    assert {law for law, _ in BREACHES} == {law.__name__ for law in INVARIANTS}


def test_verify_says_that_a_record_is_sound(db, capsys):
    Plant(PLANT)

    call_command("verify")

    assert "The record is sound: 16 laws hold." in capsys.readouterr().out


def test_verify_names_what_is_broken_and_fails(db, capsys):
    Plant(PLANT)
    run_sql(guards_off())
    run_sql(["UPDATE records_cable SET fibre_count = 3 WHERE name = 'F'"])

    with pytest.raises(SystemExit) as exit_:
        call_command("verify")

    said = capsys.readouterr().out
    assert exit_.value.code == 1
    assert "A cable has as many fibres as it says, each with an A end and a B end." in said
    assert "Cable F should have 3 fibres; it has 2, with 4 ends." in said
    assert "2 of 16 laws are broken." in said  # history doesn't hold the 3 either
