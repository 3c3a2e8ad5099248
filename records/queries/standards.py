"""The catalogue as people read it: every figure with its source and how far it was confirmed."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Q

from records.models import (
    Bound,
    CatalogueEntry,
    ColourScheme,
    Confidence,
    Direction,
    Figure,
    OpticalClass,
    SchemeColour,
)
from records.models.catalogue import ClassDirection, Sourced
from records.queries.words import natural

UNCONFIRMED = (Confidence.MEMORY,)
"""Marks of figures that no one could look up: 'unconfirmed' until someone confirms them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """All classes, entries and colour schemes; each row knows `unconfirmed`.

    That counts its figures from memory which no one has confirmed since.
    """

    classes: tuple[OpticalClass, ...]
    entries: tuple[CatalogueEntry, ...]
    schemes: tuple[ColourScheme, ...]


def catalogue() -> Catalogue:
    """Return the whole catalogue in the order a person looks for things."""
    classes = OpticalClass.objects.annotate(unconfirmed=_unconfirmed("directions"))
    entries = CatalogueEntry.objects.annotate(unconfirmed=_unconfirmed("figures"))
    schemes = ColourScheme.objects.annotate(unconfirmed=_unconfirmed("colours"))
    return Catalogue(
        classes=tuple(classes.order_by("system", "name")),
        entries=tuple(
            sorted(
                entries.order_by("kind", "-version"),
                key=lambda each: (each.kind, natural(each.name), -each.version),
            )
        ),
        schemes=tuple(schemes.order_by("name")),
    )


def _unconfirmed(rows: str) -> Count:
    from_memory = {f"{rows}__confidence__in": UNCONFIRMED}
    without_word = {f"{rows}__confirmations__isnull": True}
    return Count(rows, filter=Q(**from_memory, **without_word), distinct=True)


def is_unconfirmed(row: Sourced) -> bool:
    """Tell whether a row stands on memory alone; asks its `confirmations`, read beforehand."""
    confirmations: Any = row.confirmations  # type: ignore[attr-defined] # each kind has its own
    return row.confidence in UNCONFIRMED and not confirmations.all()


def directions(optical_class: OpticalClass) -> tuple[ClassDirection, ...]:
    """Return both directions of a class, down before up."""
    both = {each.direction: each for each in optical_class.directions.all()}
    return tuple(both[way] for way in (Direction.DOWN, Direction.UP) if way in both)


def figures(entry: CatalogueEntry) -> tuple[Figure, ...]:
    """Return an entry's figures by branch, band and bound."""
    bounds = list(Bound.values)
    return tuple(
        sorted(
            entry.figures.order_by("pk"),
            key=lambda each: (
                each.branch or 0,
                each.wavelength_min_nm,
                bounds.index(each.bound),
            ),
        )
    )


def versions(entry: CatalogueEntry) -> tuple[CatalogueEntry, ...]:
    """Return all versions of an entry, newest first."""
    same = CatalogueEntry.objects.filter(kind=entry.kind, name=entry.name)
    return tuple(same.order_by("-version"))


def colours(scheme: ColourScheme) -> tuple[SchemeColour, ...]:
    """Return a scheme's colours, fibres before tubes, by position."""
    return tuple(scheme.colours.order_by(F("element"), "position"))
