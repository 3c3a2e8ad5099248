"""The catalogue's files as the core sees them."""

import csv
from collections import defaultdict
from pathlib import Path

from records.optics.classes import ClassDirection, OpticalClass
from records.optics.colours import Colour, ColourScheme

FOLDER = Path(__file__).parents[2] / "fixtures" / "catalogue"

Row = dict[str, str]


def rows(name: str) -> list[Row]:
    """Return the rows of one file."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def direction(row: Row) -> ClassDirection:
    """Return one direction of a class from its row."""
    return ClassDirection(
        wavelength_min_nm=int(row["wavelength_min_nm"]),
        wavelength_max_nm=int(row["wavelength_max_nm"]),
        loss_min_db=float(row["loss_min_db"]),
        loss_max_db=float(row["loss_max_db"]),
        launch_min_dbm=float(row["launch_min_dbm"]),
        launch_max_dbm=float(row["launch_max_dbm"]),
        sensitivity_dbm=float(row["sensitivity_dbm"]),
        overload_dbm=float(row["overload_dbm"]),
        penalty_db=float(row["penalty_db"]),
    )


def classes() -> dict[str, OpticalClass]:
    """Return all classes by system and name, such as "GPON B+"."""
    pairs: dict[tuple[str, str], dict[str, Row]] = defaultdict(dict)
    for row in rows("classes.csv"):
        pairs[row["system"], row["class"]][row["direction"]] = row
    return {f"{system} {name}": _class(pair) for (system, name), pair in pairs.items()}


def _class(pair: dict[str, Row]) -> OpticalClass:
    row = pair["down"]
    return OpticalClass(
        system=row["system"],
        name=row["class"],
        down=direction(pair["down"]),
        up=direction(pair["up"]),
        reach_m=_or_none(row["reach_m"]),
        differential_reach_m=_or_none(row["differential_reach_m"]),
        split_max=_or_none(row["split_max"]),
    )


def _or_none(text: str) -> int | None:
    return int(text) if text else None


def scheme(name: str) -> ColourScheme:
    """Return a colour scheme by its name."""
    (group_size,) = (
        int(row["group_size"]) for row in rows("colour_schemes.csv") if row["name"] == name
    )
    return ColourScheme(
        name=name,
        fibres=_colours(name, "fibre"),
        tubes=_colours(name, "tube"),
        group_size=group_size,
    )


def _colours(name: str, element: str) -> tuple[Colour, ...]:
    return tuple(
        Colour(name=row["colour"], mark=row["mark"])
        for row in rows("colours.csv")
        if (row["scheme"], row["element"]) == (name, element)
    )
