"""The catalogue's figures that some ways of light stand on, with where they come from."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.models import Bound, CatalogueEntry, ClassDirection
from records.optics.bands import middle_nm
from records.queries.citations import Citation, CitedFigure, cited, confirmations, figures_at
from records.queries.levels import Lit
from records.queries.paths import Hop
from records.queries.words import natural


@dataclass(frozen=True, slots=True, kw_only=True)
class LossUsed:
    """The loss of a type over a band from one source, in dB; of fibre in dB a kilometre.

    A bound is None where it comes from another source, which has a row of its own.
    """

    entry: CatalogueEntry
    branch: int | None
    wavelength_min_nm: int
    wavelength_max_nm: int
    least_db: float | None
    typical_db: float | None
    most_db: float | None
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassUsed:
    """One direction of a class and where its figures come from."""

    direction: ClassDirection
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class FiguresUsed:
    """The classes and losses that some levels stand on."""

    classes: tuple[ClassUsed, ...]
    losses: tuple[LossUsed, ...]


def figures_used(hops: Iterable[Hop], light: Iterable[Lit]) -> FiguresUsed:
    """Return the figures behind some ways; a few queries a wavelength, however many the ways."""
    classes = {each.optical_class for each in light}
    wavelengths = {middle_nm(side) for each in classes for side in (each.down, each.up)}
    used = {hop.entry_id for hop in hops if hop.entry_id is not None and not hop.is_measured}
    return FiguresUsed(
        classes=_classes({(each.system, each.name) for each in classes}),
        losses=_losses(used, wavelengths),
    )


def _classes(names: set[tuple[str, str]]) -> tuple[ClassUsed, ...]:
    systems = {system for system, _ in names}
    found = ClassDirection.objects.filter(optical_class__system__in=systems)
    rows = [
        each
        for each in found.select_related("optical_class").order_by(
            "optical_class__system", "optical_class__name", "direction"
        )
        if (each.optical_class.system, each.optical_class.name) in names
    ]
    confirmed = confirmations("class_direction", (each.pk for each in rows))
    return tuple(
        ClassUsed(direction=each, citation=cited(each, confirmed.get(each.pk))) for each in rows
    )


def _losses(entry_ids: set[int], wavelengths: Iterable[int]) -> tuple[LossUsed, ...]:
    figures: dict[int, CitedFigure] = {}
    for wavelength_nm in sorted(wavelengths):
        for of_entry in figures_at(entry_ids, wavelength_nm).values():
            figures |= {each.figure_id: each for each in of_entry}
    rows: dict[tuple[int, int | None, int, int, Citation], dict[str, float]] = {}
    for each in figures.values():
        band = (each.wavelength_min_nm, each.wavelength_max_nm)
        bounds = rows.setdefault((each.entry_id, each.branch, *band, each.citation), {})
        bounds[each.bound] = each.value_db
    entries = CatalogueEntry.objects.in_bulk(entry_ids)
    found = [
        LossUsed(
            entry=entries[entry],
            branch=branch,
            wavelength_min_nm=shortest,
            wavelength_max_nm=longest,
            least_db=bounds.get(Bound.LEAST),
            typical_db=bounds.get(Bound.TYPICAL),
            most_db=bounds.get(Bound.MOST),
            citation=citation,
        )
        for (entry, branch, shortest, longest, citation), bounds in rows.items()
    ]
    return tuple(sorted(found, key=_in_order))


def _in_order(loss: LossUsed) -> tuple[object, ...]:
    entry = loss.entry
    band = (loss.wavelength_min_nm, loss.wavelength_max_nm)
    return (
        entry.kind,
        natural(entry.name),
        entry.version,
        loss.branch or 0,
        *band,
        loss.citation.source,
    )
