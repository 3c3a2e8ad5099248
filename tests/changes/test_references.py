"""References to what earlier steps make: told of many things with as few questions as of few."""

from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import equipment, references
from records.changes._made import made_of
from tests.factories import Plant, opened


def test_the_queries_do_not_grow_with_the_things_made(db):
    plant = Plant()
    with opened() as change:
        made = [
            made_of(
                equipment.install(change, kind="closure", place=plant.building, name=f"C{number}")
            )
            for number in range(20)
        ]
        with CaptureQueriesContext(connection) as few:
            references.referable(made[:2], change.number)
        with CaptureQueriesContext(connection) as many:
            known = references.referable(made, change.number)

    assert len(many) == len(few)
    assert references.in_words(known["equipment", made[19]["id"]]) == "step 20"
