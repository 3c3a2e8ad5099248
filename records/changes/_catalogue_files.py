"""Read the catalogue's files into its tables: classes, entries with their figures, colours."""

import csv
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from records.models import (
    CatalogueEntry,
    ClassDirection,
    ColourScheme,
    Figure,
    OpticalClass,
    SchemeColour,
)

CsvRow = dict[str, str]


def load_folder(folder: Path) -> int:
    """Store what the files have and the tables lack; return the number of new rows."""
    added = _load_classes(_read(folder / "classes.csv"))
    added += _load_entries(_read(folder / "entries.csv"), _read(folder / "figures.csv"))
    return added + _load_colours(
        _read(folder / "colour_schemes.csv"), _read(folder / "colours.csv")
    )


def _read(path: Path) -> list[CsvRow]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _sourced(row: CsvRow) -> dict[str, str]:
    return {name: row.get(name, "") for name in ("source", "url", "confidence", "note")}


def _load_classes(rows: list[CsvRow]) -> int:
    added = 0
    for row in rows:
        optical_class, _ = OpticalClass.objects.get_or_create(
            system=row["system"],
            name=row["class"],
            defaults={
                name: int(row[name]) if row[name] else None
                for name in ("reach_m", "differential_reach_m", "split_max")
            },
        )
        numbers: dict[str, Any] = {
            name: float(row[name]) for name in row if name.endswith(("_db", "_dbm", "_gbps"))
        }
        for name in ("wavelength_min_nm", "wavelength_max_nm"):
            numbers[name] = int(row[name])
        _, is_new = ClassDirection.objects.get_or_create(
            optical_class=optical_class,
            direction=row["direction"],
            defaults={"standard": row["standard"], **numbers, **_sourced(row)},
        )
        added += is_new
    return added


def _load_entries(rows: list[CsvRow], figures: list[CsvRow]) -> int:
    new: dict[tuple[str, str], CatalogueEntry] = {}
    for row in rows:
        entry, is_new = CatalogueEntry.objects.get_or_create(
            kind=row["kind"],
            name=row["name"],
            version=1,
            defaults={
                "inputs": int(row["inputs"] or 1),
                "outputs": int(row["outputs"] or 1),
                "note": row["note"],
            },
        )
        if is_new:
            new[row["kind"], row["name"]] = entry
    Figure.objects.bulk_create(_figures(new, figures))
    return len(new)


def _figures(
    entries: dict[tuple[str, str], CatalogueEntry], rows: list[CsvRow]
) -> Iterable[Figure]:
    for row in rows:
        entry = entries.get((row["kind"], row["name"]))
        if entry is not None:
            yield Figure(
                entry=entry,
                branch=int(row["branch"]) if row["branch"] else None,
                bound=row["bound"],
                wavelength_min_nm=int(row["wavelength_min_nm"]),
                wavelength_max_nm=int(row["wavelength_max_nm"]),
                value_mdb=round(float(row["value"]) * 1000),
                **_sourced(row),
            )


def _load_colours(schemes: list[CsvRow], colours: list[CsvRow]) -> int:
    added = 0
    for row in schemes:
        columns: dict[str, Any] = {field: row[field] for field in ("standard", "note")}
        columns |= {"group_size": row["group_size"] or 12}
        scheme, is_new = ColourScheme.objects.get_or_create(name=row["name"], defaults=columns)
        if is_new:
            added += 1
            SchemeColour.objects.bulk_create(
                SchemeColour(
                    scheme=scheme,
                    element=each["element"],
                    position=int(each["position"]),
                    colour=each["colour"],
                    mark=each["mark"],
                    **_sourced(each),
                )
                for each in colours
                if each["scheme"] == row["name"]
            )
    return added
