"""Sheets for tests, written as tables with bars, which the reader knows as separators."""

from typing import Any

from records import intake
from tests.factories import AT, user

HEADER = "building | floor | flat | splitter | leg | cable | fibre | length | serial | reading"
COLUMNS = tuple(HEADER.split(" | "))
ESTATE = "Alder Close"


def sheet(*rows: str, more: str = "") -> intake.Sheet:
    """Return a sheet of rows under the usual header; `more` names further columns."""
    header = f"{HEADER} | {more}" if more else HEADER
    return intake.read("\n".join([header, *rows]).encode())


def row(number: int, /, **cells: object) -> str:
    """Return a sound row of Block A, with some cells changed; further columns come last."""
    usual: dict[str, object] = {
        "building": "Block A",
        "floor": "G",
        "flat": number,
        "splitter": "S",
        "leg": number,
        "cable": f"D{number}",
        "fibre": 1,
        "length": 20 + number,
        "serial": f"TX{number:04d}",
        "reading": -17.5 - number / 10,
    }
    return " | ".join(str(cell) for cell in (usual | cells).values())


def checked(*rows: str, more: str = "", **options: Any) -> intake.Plan:
    """Check a sheet against the record."""
    return intake.check(sheet(*rows, more=more), **{"estate": ESTATE, **options})


def taken_in(*rows: str, more: str = "", **options: Any):
    """Take a sheet in."""
    plan = checked(*rows, more=more, **options)
    return intake.commit(plan, actor=user(), at=AT, reason="a sheet")


def rehearsed(plan: intake.Plan) -> tuple[intake.Fault, ...]:
    """Rehearse a plan."""
    return intake.rehearse(plan, actor=user(), at=AT)


def said(plan: intake.Plan) -> list[str]:
    """Return the faults of a plan in words."""
    return [str(fault) for fault in plan.faults]
