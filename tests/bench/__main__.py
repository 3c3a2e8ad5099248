"""Measure: `python -m tests.bench [--small] [--homes 1000 10000 100000]`.

Runs on the engine that DATABASE_URL names, in a test database that is made and dropped. Prints
ratios of ours to the same work in raw SQL, in one run; nothing asserts a time.
"""

import argparse
import os

import django


def main() -> None:
    """Build a network of each size and report."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--small", action="store_true", help="1,000 homes only")
    parser.add_argument("--homes", type=int, nargs="+", default=[1_000, 10_000])
    options = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    django.setup()
    for homes in [1_000] if options.small else options.homes:
        _measure(homes)
    from tests.bench import labels  # noqa: PLC0415 (after django.setup)

    labels.report(1_000)


def _measure(homes: int) -> None:
    from django.conf import settings  # noqa: PLC0415
    from django.test.utils import get_runner  # noqa: PLC0415 (after django.setup)

    from tests.bench import joints, network  # noqa: PLC0415
    from tests.factories import load_catalogue  # noqa: PLC0415

    runner = get_runner(settings, "django.test.runner.DiscoverRunner")(
        verbosity=0, interactive=False
    )
    databases = runner.setup_databases()
    try:
        load_catalogue()
        network.grow(homes)
        joints.report(homes)
    finally:
        runner.teardown_databases(databases)


if __name__ == "__main__":
    main()
