"""The stock there is to print on: the usual kinds, and what the owner described."""

import json
from collections.abc import Mapping
from dataclasses import MISSING, asdict, fields
from typing import Any, Final, get_type_hints

from labels import seeds
from labels.stock import Offset, Roll, Sheet, StockError
from records.changes import OpenChange, label_rules
from records.models import OwnStock, PrinterOffset, StockShape
from records.models.prints import as_json

Stock = Sheet | Roll

USUAL_SHEET: Final = "A4-4x10"
"""The sheet with the smallest labels on which all kinds fit, cautions and flags too (tried)."""


def stocks() -> dict[str, Stock]:
    """Return all stock by its id: the usual sheets and rolls, then the owner's own."""
    own = {row.name: stock_from(row.geometry) for row in OwnStock.objects.order_by("name")}
    return {**seeds.sheets(), **seeds.rolls(), **own}


def stock(stock_id: str) -> Stock:
    """Return one kind of stock. Raises: StockError where there is none of that id."""
    found = seeds.sheets().get(stock_id) or seeds.rolls().get(stock_id)
    row = None if found else OwnStock.objects.filter(name=stock_id).first()
    if found is None and row is None:
        raise StockError(f"There is no stock {stock_id!r}.", "Choose one of the list.")
    return found or stock_from(row.geometry if row else "")


def as_geometry(of: Stock) -> str:
    """Write stock as a run keeps it."""
    shape = {"shape": StockShape.SHEET.value} if isinstance(of, Sheet) else {}
    return as_json({**asdict(of), **shape})


def stock_from(geometry: str) -> Stock:
    """Read stock that `as_geometry` wrote. Raises: StockError."""
    values: dict[str, Any] = json.loads(geometry)
    if values["shape"] == StockShape.SHEET:
        del values["shape"]
        return Sheet(**values)
    return Roll(**values)


def describe(change: OpenChange, name: str, shape: str, measures: Mapping[str, float]) -> OwnStock:
    """Keep stock of the owner's, described in millimetres.

    Raises: StockError where it can't be printed on; what `label_rules.describe_stock` raises.
    """
    name = " ".join(name.split())
    if name in seeds.sheets() or name in seeds.rolls():
        raise StockError(f"There is stock {name} already.", "Give this one another name.")
    described = made(name, shape, measures)
    return label_rules.describe_stock(
        change, name=name, shape=shape, geometry=as_geometry(described)
    )


def made(name: str, shape: str, measures: Mapping[str, float]) -> Stock:
    """Return stock as described. Raises: StockError where its geometry can't be printed."""
    kind: type[Any] = Sheet if shape == StockShape.SHEET else Roll
    wanted = _measures_of(kind)
    missing = [each for each, is_needed in wanted.items() if is_needed and each not in measures]
    unknown = [each for each in measures if each not in wanted]
    if missing or unknown:
        said = [f"it lacks {each}" for each in missing] + [f"it has no {each}" for each in unknown]
        raise StockError(f"{name}: {'; '.join(said)}.", f"Give {', '.join(wanted)}, in mm.")
    hints = get_type_hints(kind)
    if any(hints[each] is int and value != int(value) for each, value in measures.items()):
        raise StockError(
            f"{name}: a number of labels or dots is whole.", "Give columns, rows and dpi as such."
        )
    values = {each: hints[each](value) for each, value in measures.items()}
    if kind is Roll:
        values["shape"] = shape
    found: Stock = kind(id=name, **values, **_OWN[kind])
    return found


def _measures_of(kind: type[Any]) -> dict[str, bool]:
    """Return the measures of sheets or rolls by name, and whether each is needed."""
    hints = get_type_hints(kind)
    return {
        each.name: each.default is MISSING
        for each in fields(kind)
        if hints[each.name] in {int, float}
    }


_OWN: Final[Mapping[type[Any], dict[str, str]]] = {
    Sheet: {"page": "own", "source": "the owner's description"},
    Roll: {"source": "the owner's description"},
}


def offset_of(printer: str, stock_id: str) -> Offset:
    """Return how far a printer is moved on a sheet; not at all where nothing is stored."""
    row = PrinterOffset.objects.filter(printer=printer, stock=stock_id).first()
    return Offset() if row is None else Offset(float(row.right_mm), float(row.down_mm))
