# ruff: noqa: PLC0415 - imports wait for Django
"""Measure: `python -m tests.bench [--small] [--homes 1000 10000 100000]`.

Runs on the engine that DATABASE_URL names, in a test database that is made and dropped. Prints
ratios of ours to the same work in raw SQL, in one run; nothing asserts a time. The race of many
processes has a command of its own: `python -m tests.bench.race`.
"""

import argparse

from tests.bench.database import in_a_network


def main() -> None:
    """Build a network of each size and report."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--small", action="store_true", help="1,000 homes only")
    parser.add_argument("--homes", type=int, nargs="+", default=[1_000, 10_000])
    options = parser.parse_args()
    for homes in [1_000] if options.small else options.homes:
        _measure(homes)
    from tests.bench import labels

    labels.report(1_000)


def _measure(homes: int) -> None:
    def measure() -> None:
        from django.db import connection

        from tests.bench import joints, reads

        print(f"\n{connection.vendor}, {homes:,} homes")
        joints.report(homes)
        reads.report(homes)

    in_a_network(measure, homes)


if __name__ == "__main__":
    main()
