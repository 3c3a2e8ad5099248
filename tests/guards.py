"""Take the triggers that guard history away and bring them back, for tests that need it."""

from itertools import chain

from django.db import connection

from records.models import KEPT, triggers


def run_sql(statements):
    """Run statements that no verb would."""
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def guards_off():
    """Return the statements that take the triggers away which guard history."""
    vendor = connection.vendor
    of_tables = [triggers.drop_history_sql(vendor, model) for model in KEPT]
    return [*chain(*of_tables), *triggers.drop_sealed_changes_sql(vendor)]


def guards_on():
    """Return the statements that bring them back."""
    vendor = connection.vendor
    of_tables = [
        triggers.history_sql(vendor, model, ignored=twin.ignored, personal=twin.personal)
        for model, twin in KEPT.items()
    ]
    return [*chain(*of_tables), *triggers.sealed_changes_sql(vendor)]
