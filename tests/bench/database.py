# ruff: noqa: PLC0415 - imports wait for Django
"""A test database to measure in, made on the engine that DATABASE_URL names, and dropped."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path


def in_a_database(measure: Callable[[], None]) -> None:
    """Measure in a database that holds the standards catalogue and nothing else."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    import django

    django.setup()
    from django.conf import settings
    from django.test.utils import get_runner

    from tests.factories import load_catalogue

    with tempfile.TemporaryDirectory() as folder:
        database = settings.DATABASES["default"]
        if database["ENGINE"].endswith("sqlite3"):
            # A file, as the product has it, and as other processes can see it.
            database.setdefault("TEST", {})["NAME"] = Path(folder, "bench.sqlite3")
        runner = get_runner(settings, "django.test.runner.DiscoverRunner")(
            verbosity=0, interactive=False
        )
        databases = runner.setup_databases()
        try:
            load_catalogue()
            measure()
        finally:
            runner.teardown_databases(databases)


def in_a_network(measure: Callable[[], None], homes: int = 1_000) -> None:
    """Measure in a network of that many homes."""

    def grown() -> None:
        from tests.bench import network

        network.grow(homes)
        measure()

    in_a_database(grown)
