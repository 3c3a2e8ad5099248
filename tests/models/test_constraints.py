"""Each constraint holds against raw SQL, whoever writes it, on both engines."""

import re

import pytest
from django.apps import apps
from django.db import IntegrityError, connection
from django.db.models import UniqueConstraint

from records.changes import Overtaken
from tests.factories import Plant, opened
from tests.guards import run_sql

PLANT = """
    olt O x2
    splitter S 1:4
    cable F 900 m x2
    terminal T @1
    flat 2
    light O.1 GPON B+
    O.1 = F.1 = S
    book S.2 for 1
    book S.3 for 2
    """


def _label_rules(**columns):
    return _insert(
        "records_labelrules",
        {
            "id": 1,
            "host": "'L.EXAMPLE'",
            "has_upper_case_link": "TRUE",
            "has_upper_case_text": "TRUE",
            "requires_qr": "FALSE",
            "smallest_module_mm": 0.4,
            "language": "'en'",
            "signal": "''",
            "words": "''",
            **columns,
        },
    )


def _print_run(**columns):
    given = {
        "change_id": "number",
        "chosen": "'S'",
        "stock": "'-'",
        "rules": "'-'",
        "file": "'pdf'",
        "start": 1,
        "right_mm": 0,
        "down_mm": 0,
        "has_outlines": "FALSE",
        "label_count": 1,
        "digest": "''",
        **columns,
    }
    return f"{_insert('records_printrun', given)} FROM records_change WHERE NOT sealed"


def _printed_labels(noun, thing, *positions):
    """Insert labels of a run that isn't there: the engine asks for it only at the end."""
    texts = ", ".join(
        f"(1, {position}, 'blank', {noun}, {thing}, '', '', '-', '')" for position in positions
    )
    return f"""INSERT INTO records_printedlabel
        (run_id, position, kind, noun, thing, cable_end, tray, texts, spoiled) VALUES {texts}"""


def _insert(table, columns):
    values = ", ".join(str(value) for value in columns.values())
    return f"INSERT INTO {table} ({', '.join(columns)}) SELECT {values}"


CASES = {
    "optical_class_is_unique": "UPDATE records_opticalclass SET system = 'GPON', name = 'B+'",
    "class_direction_is_unique": "UPDATE records_classdirection SET direction = 'up'",
    "catalogue_entry_is_unique": "UPDATE records_catalogueentry SET kind = 'tap', name = '1:4'",
    "catalogue_entry_kind_is_known": "UPDATE records_catalogueentry SET kind = 'filter'",
    "figure_band_is_ordered": "UPDATE records_figure SET wavelength_min_nm = 1700",
    "scheme_colour_is_unique": "UPDATE records_schemecolour SET position = 1",
    "change_only_one_is_open": """INSERT INTO records_change
        (verb, actor_id, reason, at, sealed, effect, digest)
        SELECT verb, actor_id, reason, at, sealed, effect, digest
        FROM records_change WHERE NOT sealed""",
    "place_kind_is_known": "UPDATE records_place SET kind = 'castle'",
    "place_latitude_is_on_earth": "UPDATE records_place SET latitude_deg = 91",
    "place_longitude_is_on_earth": "UPDATE records_place SET longitude_deg = -181",
    "job_state_is_known": """INSERT INTO records_job
        (name, reference, place_id, state, revision, steps, preview, saved_by_id, planned_by_id,
        saved_at)
        SELECT 'Riser', '', (SELECT MIN(id) FROM records_place), 'lost', 1, '[]', '{}',
        actor_id, actor_id, at FROM records_change""",
    "job_reference_is_unique": """INSERT INTO records_job
        (name, reference, place_id, state, revision, steps, preview, saved_by_id, planned_by_id,
        saved_at)
        SELECT 'Riser', 'J1', (SELECT MIN(id) FROM records_place), 'drafted', 1, '[]', '{}',
        actor_id, actor_id, at FROM records_change""",
    "job_approval_names_its_revision": """INSERT INTO records_job
        (name, reference, place_id, state, revision, steps, preview, saved_by_id, planned_by_id,
        saved_at, approved_revision)
        SELECT 'Riser', '', (SELECT MIN(id) FROM records_place), 'drafted', 1, '[]', '{}',
        actor_id, actor_id, at, 1 FROM records_change""",
    "equipment_name_is_unique_in_its_place": """UPDATE records_equipment SET name = 'X',
        place_id = (SELECT MIN(id) FROM records_place)""",
    "equipment_serial_is_unique": "UPDATE records_equipment SET serial = '7'",
    "equipment_kind_is_known": "UPDATE records_equipment SET kind = 'laser'",
    "cable_name_is_unique_at_its_a_place": """INSERT INTO records_cable
        (kind, name, a_place_id, b_place_id, entry_id, fibre_count, length_cm)
        SELECT kind, name, a_place_id, b_place_id, entry_id, fibre_count, length_cm
        FROM records_cable""",
    "cable_kind_is_known": "UPDATE records_cable SET kind = 'pipe'",
    "cable_has_a_fibre": "UPDATE records_cable SET fibre_count = 0",
    "passage_has_one_owner": "UPDATE records_passage SET cable_id = NULL, equipment_id = NULL",
    "fibre_number_is_unique": "UPDATE records_passage SET number = 1 WHERE cable_id IS NOT NULL",
    "passage_number_is_unique": """INSERT INTO records_passage
        (equipment_id, number, entry_id, length_cm, damage)
        SELECT equipment_id, number, entry_id, length_cm, damage
        FROM records_passage WHERE equipment_id IS NOT NULL""",
    "point_side_is_0_or_1": "UPDATE records_point SET side = 2",
    "point_role_is_known": "UPDATE records_point SET role = 'hole' WHERE role = 'input'",
    "point_is_lone_or_in_a_passage": """UPDATE records_point SET passage_id = NULL
        WHERE role = 'leg'""",
    "point_is_a_port_or_a_fibre_end": """UPDATE records_point SET equipment_id = NULL
        WHERE role = 'leg'""",
    "point_condition_is_for_legs": """UPDATE records_point SET condition = 'spare'
        WHERE role = 'pon'""",
    "point_condition_is_known": "UPDATE records_point SET condition = 'lost' WHERE role = 'leg'",
    "port_number_is_unique": "UPDATE records_point SET number = 1 WHERE role = 'leg'",
    "fibre_end_is_unique": """UPDATE records_point SET passage_id = (
        SELECT MIN(id) FROM records_passage WHERE cable_id IS NOT NULL) WHERE role = 'A end'""",
    "joint_kind_is_known": "UPDATE records_joint SET kind = 'glued'",
    "joint_end_side_is_1_or_2": "UPDATE records_jointend SET side = 3",
    "joint_end_side_is_unique": "UPDATE records_jointend SET side = 1",
    "search_text_is_unique": "UPDATE records_searchtext SET noun = 'line', thing_id = 1",
    "channel_is_unique_at_its_port": """INSERT INTO records_channel (point_id, optical_class_id)
        SELECT point_id, optical_class_id FROM records_channel""",
    "channel_is_not_its_own_standby": "UPDATE records_channel SET standby_for_id = id",
    "booking_state_is_known": "UPDATE records_booking SET state = 'wished'",
    "booking_one_open_per_leg": "UPDATE records_booking SET leg_id = {S.2}",
    "booking_one_open_per_line": """UPDATE records_booking SET line_id = (
        SELECT MIN(id) FROM records_line)""",
    "reading_direction_is_known": """INSERT INTO records_reading
        (point_id, wavelength_nm, direction, uncertainty_mdb, meter, taken_at, taken_by_id,
         change_id, note)
        SELECT {T}, 1490, 'left', 500, '', at, actor_id, number, ''
        FROM records_change WHERE NOT sealed""",
    "reading_wavelength_is_in_the_bands_of_single_mode_fibre": """INSERT INTO records_reading
        (point_id, wavelength_nm, direction, uncertainty_mdb, meter, taken_at, taken_by_id,
         change_id, note)
        SELECT {T}, 850, 'down', 500, '', at, actor_id, number, ''
        FROM records_change WHERE NOT sealed""",
    "confirmation_is_of_one_row": """INSERT INTO records_confirmation
        (edition, "table", url, note, change_id)
        SELECT '2', '1', '', '', number FROM records_change WHERE NOT sealed""",
    "tag_is_on_one_thing": """INSERT INTO records_tag (code, cable_end, voided, place_id, line_id)
        SELECT 'X', '', '', place_id, id FROM records_line""",
    "tag_on_a_cable_names_its_end": """INSERT INTO records_tag (code, cable_end, voided, cable_id)
        SELECT 'X', '', '', id FROM records_cable WHERE name = 'F'""",
    "hazard_level_is_known": """INSERT INTO records_hazardstatement
        (place_id, level, assessor, stated_date, note, withdrawn)
        SELECT MIN(id), '9', 'A. Assessor', '2026-01-01', '', '' FROM records_place""",
    "label_rules_are_one_row": _label_rules(id=2),
    "label_rules_have_signal_and_words_or_neither": _label_rules(signal="'DANGER'"),
    "caution_sign_is_one_row": """INSERT INTO records_cautionsign (id, pictogram, picture)
        VALUES (2, 'triangle', '')""",
    "caution_sign_is_known": """INSERT INTO records_cautionsign (id, pictogram, picture)
        VALUES (1, 'skull', '')""",
    "caution_sign_has_a_picture_where_it_is_its_own": """INSERT INTO records_cautionsign
        (id, pictogram, picture) VALUES (1, 'own', '')""",
    "own_stock_shape_is_known": """INSERT INTO records_ownstock (name, shape, geometry)
        VALUES ('ours', 'round', '-')""",
    "printer_offset_is_one_a_printer_and_sheet": """INSERT INTO records_printeroffset
        (printer, stock, right_mm, down_mm)
        VALUES ('office', 'A4-3x8', 0, 0), ('office', 'A4-3x8', 1, 1)""",
    "print_run_file_is_known": _print_run(file="'doc'"),
    "print_run_has_a_label": _print_run(label_count=0),
    "printed_label_position_is_unique": _printed_labels("''", "NULL", 1, 1),
    "printed_label_is_for_one_thing_or_blank": _printed_labels("''", "7", 1),
    "printed_label_noun_is_known": _printed_labels("'house'", "7", 1),
}


def _constraints():
    return {
        constraint.name: constraint
        for model in apps.get_app_config("records").get_models()
        for constraint in model._meta.constraints
    }


def test_every_constraint_is_tried_below():
    assert set(CASES) == set(_constraints())


@pytest.mark.parametrize("name", CASES)
def test_raw_sql_can_not_break_a_constraint(name, db):
    plant = Plant(PLANT)
    statement = re.sub(r"{([\w.]+)}", lambda point: str(plant[point[1]]), CASES[name])

    with pytest.raises(Overtaken) as refused, opened():
        run_sql([statement])

    cause = refused.value.__cause__
    assert isinstance(cause, IntegrityError)
    assert _said_of(_constraints()[name]) in str(cause)


def _said_of(constraint):
    """Return what the database says: SQLite names the columns of a unique constraint, not it."""
    is_named = connection.vendor == "postgresql" or not isinstance(constraint, UniqueConstraint)
    return constraint.name if is_named else "UNIQUE constraint failed: "


def test_a_point_is_in_one_joint(db):
    plant = Plant(PLANT)

    with pytest.raises(Overtaken), opened():
        run_sql(
            [
                f"""INSERT INTO records_jointend (point_id, joint_id, side)
                SELECT {plant["S.in"]}, id, 2 FROM records_joint"""
            ]
        )


def test_what_others_refer_to_is_not_deleted(db):
    Plant(PLANT)

    def delete_passages():
        run_sql(["DELETE FROM records_passage"])
        connection.check_constraints()

    with pytest.raises(Overtaken), opened():
        delete_passages()
