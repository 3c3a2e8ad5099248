# ruff: noqa: PLC0415 - imports wait for Django
"""A sheet of new flats on lit splitters, taken in, beside the same rows in raw SQL.

python -m tests.bench.intake [flats]
"""

import sys
import time
from collections.abc import Callable, Sequence
from typing import Any

FLATS = 320
LEGS = 32
_TABLES = (
    "records_place",
    "records_line",
    "records_equipment",
    "records_cable",
    "records_passage",
    "records_point",
    "records_joint",
    "records_jointend",
    "records_booking",
    "records_feed",
    "records_reading",
    "records_searchtext",
)


def report(flats: int = FLATS) -> None:
    """Print what a row costs: many rows at once, one by one, and the bare rows."""
    from django.db import connection

    from records.intake import _commit

    plan = _plan(flats)
    print(f"\n{connection.vendor}, a sheet of {flats} flats on lit splitters")
    raw = _written(plan)
    together_ms, statements = _timed(lambda: _build(plan), flats)
    raw_ms, _ = _timed(lambda: _insert(raw), flats)
    together, _commit.TOGETHER = _commit.TOGETHER, 1
    try:
        alone_ms, each = _timed(lambda: _build(plan), flats)
    finally:
        _commit.TOGETHER = together
    print(f"  {together} rows at once: {together_ms:.2f} ms and {statements:.1f} statements a row")
    print(f"  one by one: {alone_ms:.1f} ms and {each:.0f}, ratio {alone_ms / together_ms:.1f}")
    print(f"  its rows in raw SQL: {raw_ms:.2f} ms, ratio {together_ms / raw_ms:.1f}")


def _timed(work: Callable[[], object], flats: int) -> tuple[float, float]:
    """Return the milliseconds and the statements that some work takes for each flat."""
    from django.db import connection

    statements = 0

    def counted(execute: Callable[..., object], *statement: object) -> object:
        nonlocal statements
        statements += 1
        return execute(*statement)

    started = time.perf_counter()
    with connection.execute_wrapper(counted):
        work()
    ms = (time.perf_counter() - started) * 1000
    return ms / flats, statements / flats


def _plan(flats: int) -> Any:
    from records import intake
    from tests.factories import Plant

    splitters = range(1, -(-flats // LEGS) + 1)
    lines = [f"olt O x{len(splitters)}"]
    for number in splitters:
        lines += [f"splitter S{number} 1:{LEGS}", f"cable F{number} 300 m"]
        lines += [f"light O.{number} GPON C+", f"O.{number} = F{number} = S{number}"]
    Plant("\n".join(lines))
    rows = ["building | floor | flat | splitter | leg | cable | fibre | length | serial | reading"]
    rows += [
        f"Block A | {n // 20} | {n + 1} | S{n // LEGS + 1} | {n % LEGS + 1} | D{n} | 1 | 30 | "
        f"TX{n:05d} | -20.5"
        for n in range(flats)
    ]
    return intake.check(intake.read("\n".join(rows).encode()), estate="Alder Close")


def _build(plan: Any) -> None:
    from records import intake
    from tests.factories import AT, user

    if intake.rehearse(plan, actor=user(), at=AT):
        raise RuntimeError("The sheet is refused.")


def _written(plan: Any) -> dict[str, tuple[Sequence[str], list[Any]]]:
    """Return all rows that the sheet writes, by table, with their columns."""
    from django.db import connection

    from records.intake import _commit
    from records.models.kept import STILL
    from tests.factories import opened

    found: dict[str, tuple[Sequence[str], list[Any]]] = {}
    with opened(preview=True) as change, change.as_one_step("bench"):
        list(_commit._built(change, plan, None))
        with connection.cursor() as cursor:
            for table in _TABLES:
                cursor.execute(
                    f"SELECT * FROM {table}_history WHERE since = %s AND until = %s",
                    [change.number, STILL],
                )
                names = [column[0] for column in cursor.description]
                kept = [at for at, name in enumerate(names) if name not in {"row", "until"}]
                if table != "records_feed":
                    kept = [at for at in kept if names[at] != "since"]
                rows = [[row[at] for at in kept] for row in cursor.fetchall()]
                found[table] = ([names[at] for at in kept], rows)
    return found


def _insert(written: dict[str, tuple[Sequence[str], list[Any]]]) -> None:
    """Write the rows; the legs, which were there before, get their new condition."""
    from django.db import connection

    from tests.factories import opened

    with opened(preview=True), connection.cursor() as cursor:
        for table, (columns, rows) in written.items():
            marks = ", ".join(["%s"] * len(columns))
            there = (
                "ON CONFLICT (id) DO UPDATE SET condition = excluded.condition"
                if table == "records_point"
                else ""
            )
            cursor.executemany(
                f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks}) {there}", rows
            )


if __name__ == "__main__":
    from tests.bench.database import in_a_database

    in_a_database(lambda: report(int(sys.argv[1]) if len(sys.argv) > 1 else FLATS))
