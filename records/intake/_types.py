"""Assumed types, found in the catalogue."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.intake._assumptions import Assumptions, label
from records.intake._faults import Findings
from records.models import CatalogueEntry, ColourScheme, EntryKind, OpticalClass, Polish
from records.queries.catalogue import named_entry

CORD_MAX_M = 100
_TYPES = {
    "splitter": (EntryKind.SPLITTER,),
    "fibre": (EntryKind.FIBRE,),
    "mated": (EntryKind.MATED,),
    "splice": (EntryKind.FUSION, EntryKind.MECHANICAL),
}
_POLISHES = ("splitter_polish", "outlet_polish")
_NAMES = ("cupboard", "outlet", "terminal")


@dataclass(frozen=True, slots=True, kw_only=True)
class Types:
    """The catalogue's entries of what is assumed; None where the assumption has a fault."""

    splitter: CatalogueEntry | None
    fibre: CatalogueEntry | None
    mated: CatalogueEntry | None
    splice: CatalogueEntry | None
    colour_scheme: ColourScheme | None
    terminal_class: OpticalClass | None


def settled(assumptions: Assumptions, findings: Findings) -> Types:
    """Return the types assumed, and note each assumption that can't be met."""
    _note_values(assumptions, findings)
    found = {
        field: _entry(field, getattr(assumptions, field), kinds, findings)
        for field, kinds in _TYPES.items()
    }
    return Types(
        colour_scheme=_colour_scheme(assumptions.colour_scheme, findings),
        terminal_class=_terminal_class(assumptions.terminal_class, findings),
        **found,
    )


def _fault(findings: Findings, field: str, value: object, message: str, *, allowed: str) -> None:
    findings.fault(None, f"assumed {label(field)}", value, message, allowed=allowed)


def _entry(
    field: str, name: str, kinds: tuple[EntryKind, ...], findings: Findings
) -> CatalogueEntry | None:
    for kind in kinds:
        found = named_entry(kind, name)
        if found is not None:
            return found
    known = CatalogueEntry.objects.filter(kind__in=kinds).order_by("id")
    _fault(
        findings,
        field,
        name,
        f"The catalogue has no {' or '.join(kinds)} '{name}'.",
        allowed=f"One of: {_names(known)}.",
    )
    return None


def _names(known: Iterable[object]) -> str:
    listed = dict.fromkeys(map(str, known))
    return ", ".join(listed) or "nothing yet; load the catalogue first (manage.py catalogue)"


def _colour_scheme(name: str, findings: Findings) -> ColourScheme | None:
    if not name:
        return None
    found = ColourScheme.objects.filter(name__iexact=name).first()
    if found is None:
        known = ColourScheme.objects.order_by("id")
        message = f"The catalogue has no colours '{name}'."
        _fault(
            findings, "colour_scheme", name, message, allowed=f"Empty, or one of: {_names(known)}."
        )
    return found


def _terminal_class(name: str, findings: Findings) -> OpticalClass | None:
    if not name:
        return None
    known = {str(each).casefold(): each for each in OpticalClass.objects.order_by("id")}
    found = known.get(" ".join(name.split()).casefold())
    if found is None:
        message = f"The catalogue has no class '{name}'."
        allowed = f"Empty, or one of: {_names(known.values())}."
        _fault(findings, "terminal_class", name, message, allowed=allowed)
    return found


def _note_values(assumptions: Assumptions, findings: Findings) -> None:
    for field in _POLISHES:
        value = getattr(assumptions, field)
        if value not in {"", *Polish.values}:
            allowed = f"Empty for bare ends, or one of: {', '.join(Polish.values)}."
            _fault(findings, field, value, f"'{value}' is no connector.", allowed=allowed)
    for field in _NAMES:
        if not getattr(assumptions, field).strip():
            _fault(findings, field, "", "The name is empty.", allowed="A name.")
    cord_m, wavelength_nm = assumptions.cord_length_m, assumptions.wavelength_nm
    if not 0 < cord_m <= CORD_MAX_M:
        message = f"A cord of {cord_m:g} m is not possible."
        allowed = f"Above 0, at most {CORD_MAX_M} m."
        _fault(findings, "cord_length_m", cord_m, message, allowed=allowed)
    if not 1260 <= wavelength_nm <= 1675:  # noqa: PLR2004 (the bands O to U)
        message = f"{wavelength_nm} nm is no wavelength of single-mode fibre."
        _fault(findings, "wavelength_nm", wavelength_nm, message, allowed="From 1260 to 1675 nm.")
