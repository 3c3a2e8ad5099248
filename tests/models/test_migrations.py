"""A record can go back through its migrations, data and all, and forward again."""

import os
import subprocess
import sys

from django.conf import settings

THERE_AND_BACK = """
import django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)

from records.changes import readings
from tests.factories import Plant, load_catalogue, opened
load_catalogue()
plant = Plant("olt O\\nterminal T @1\\nlight O.1 GPON B+")
with opened() as change:
    readings.read(change, plant["T"], wavelength_nm=1490, level_dbm=-17)

call_command("migrate", "records", "0002", verbosity=0)
call_command("migrate", verbosity=0)
call_command("verify")
"""


def test_a_record_goes_back_and_forward_again(only_sqlite, db, tmp_path):
    # A process of its own: within a test's transaction SQLite can't make a table anew.
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{tmp_path / 'record.sqlite3'}",
        "DJANGO_SETTINGS_MODULE": "records.settings",
    }

    done = subprocess.run(
        [sys.executable, "-c", THERE_AND_BACK],
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert "The record is sound" in done.stdout
