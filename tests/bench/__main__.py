# ruff: noqa: PLC0415 - imports wait for Django
"""Measure: `python -m tests.bench [--small] [--homes 1000 10000 100000]`.

Runs on the engine that DATABASE_URL names, in a test database that is made and dropped. Prints
ratios of ours to the same work in raw SQL, in one run; nothing asserts a time. Two more take
minutes and have commands of their own: `python -m tests.bench.race`, many processes at the same
legs, and `python -m tests.bench.causes`, how often a fault is found.
"""

import argparse

from tests.bench.database import in_a_database, in_a_network

SMALL = 1_000
"""Homes in the network in which all is measured; in larger ones, what may grow with them."""


def main() -> None:
    """Build a network of each size and report."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--small", action="store_true", help=f"{SMALL:,} homes only")
    parser.add_argument("--homes", type=int, nargs="+", default=[SMALL, 10_000])
    options = parser.parse_args()
    for homes in [SMALL] if options.small else options.homes:
        _measure(homes)
    from tests.bench import causes, first_look, labels

    labels.report(1_000)
    in_a_database(first_look.report)
    in_a_database(causes.speed)


def _measure(homes: int) -> None:
    def measure() -> None:
        from django.db import connection

        from tests.bench import explain, intake, jobs, joints, moment, reads, what_if

        print(f"\n{connection.vendor}, {homes:,} homes")
        joints.report(homes)
        reads.report(homes)
        if homes == SMALL:
            explain.report()
            what_if.report()
            jobs.report()
            moment.report()
            intake.report()

    in_a_network(measure, homes)


if __name__ == "__main__":
    main()
