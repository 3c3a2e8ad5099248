"""The catalogue's types that equipment has: losses inside it, the class a terminal receives."""

from collections.abc import Iterable

from records.changes._checks import existing_all
from records.changes.refusals import Malformed
from records.models import CatalogueEntry, EntryKind, EquipmentKind, OpticalClass
from records.queries.catalogue import default_entry

_ENTRY_KINDS = {
    EquipmentKind.SPLITTER: (EntryKind.SPLITTER, EntryKind.TAP),
    EquipmentKind.COUPLER: (EntryKind.COUPLER,),
    EquipmentKind.ATTENUATOR: (EntryKind.ATTENUATOR,),
    EquipmentKind.PANEL: (EntryKind.MATED,),
    EquipmentKind.OUTLET: (EntryKind.MATED,),
}


def types_of(
    wanted: set[tuple[str, int | None]],
) -> dict[tuple[str, int | None], CatalogueEntry | None]:
    """Return the catalogue's entry for each kind of equipment with what was asked for it."""
    for kind, entry in wanted:
        if entry is not None and EquipmentKind(kind) not in _ENTRY_KINDS:
            raise Malformed(
                f"A {kind} has no catalogue entry.", hint="Leave the entry empty.", field="entry"
            )
    named = {entry for _kind, entry in wanted if entry is not None}
    known = existing_all(CatalogueEntry.objects, named, field="entry") if named else {}
    return {
        (kind, entry): _usual(kind) if entry is None else _suited(kind, known[entry])
        for kind, entry in wanted
    }


def _suited(kind: str, entry: CatalogueEntry) -> CatalogueEntry:
    allowed = _ENTRY_KINDS[EquipmentKind(kind)]
    if entry.kind not in allowed:
        raise Malformed(
            f"{entry.name} is a {entry.kind} entry, not one for a {kind}.",
            hint=f"Choose an entry of kind {' or '.join(allowed)}.",
            field="entry",
        )
    return entry


def _usual(kind: str) -> CatalogueEntry | None:
    """Return the type of an equipment for which none is named, None where it has no type."""
    if kind in {EquipmentKind.PANEL, EquipmentKind.OUTLET}:
        return default_entry(EntryKind.MATED)
    if EquipmentKind(kind) not in _ENTRY_KINDS:
        return None
    raise Malformed(
        f"A {kind} needs its type.",
        hint="Choose its catalogue entry, such as 1:32.",
        field="entry",
    )


def classes_of(wanted: Iterable[tuple[str, int | None]]) -> dict[int, OpticalClass]:
    """Return the classes that equipment receives, by id. Raises: Malformed, Missing."""
    given = [(kind, each) for kind, each in wanted if each is not None]
    for kind, _class in given:
        if kind != EquipmentKind.TERMINAL:
            raise Malformed(
                f"A {kind} receives no class.",
                hint="Leave the class empty.",
                field="optical_class",
            )
    classes = {each for _kind, each in given}
    return existing_all(OpticalClass.objects, classes, field="optical_class") if classes else {}
