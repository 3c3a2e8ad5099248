"""Verbs for equipment: install, move, rename, remove."""

from collections.abc import Iterator

from records.changes import _search
from records.changes._checks import choice, existing, present_place, refuse_joined, text, whole
from records.changes._ports import passages_and_ports
from records.changes._transaction import OpenChange, verb
from records.changes.lines import refuse_no_dwelling
from records.changes.refusals import Malformed, NameTaken, Refusal
from records.models import (
    Booking,
    CatalogueEntry,
    Channel,
    EntryKind,
    Equipment,
    EquipmentKind,
    Joint,
    Noun,
    OpticalClass,
    Passage,
    Place,
    Point,
    Polish,
    Reading,
    Tag,
)
from records.queries.catalogue import default_entry
from records.queries.names import address, equipment_name

PORTS_MAX = 1152
"""Ports of one equipment (common practice: a full-height frame of 1152 adapters)."""

_ENTRY_KINDS = {
    EquipmentKind.SPLITTER: (EntryKind.SPLITTER, EntryKind.TAP),
    EquipmentKind.COUPLER: (EntryKind.COUPLER,),
    EquipmentKind.ATTENUATOR: (EntryKind.ATTENUATOR,),
    EquipmentKind.PANEL: (EntryKind.MATED,),
    EquipmentKind.OUTLET: (EntryKind.MATED,),
}


class EquipmentInUse(Refusal):
    """An equipment that can't go while something depends on it."""

    code = "equipment_in_use"


@verb
def install(
    change: OpenChange,
    *,
    kind: str,
    place: int,
    name: str,
    serial: str = "",
    entry: int | None = None,
    ports: int = 1,
    polish: str = Polish.APC,
    back_polish: str | None = None,
    optical_class: int | None = None,
) -> Equipment:
    """Install an equipment with its ports.

    `entry` is the type of a splitter, coupler or attenuator, or the mated pairs in a panel or
    outlet. `ports` counts PON ports or adapters. `polish` is that of the ports, blank for bare
    tails; `back_polish` that of adapter backs, by default bare in an outlet and like the front in
    a panel. `optical_class` is what a home terminal receives.
    Raises: Malformed, Missing, NameTaken, NotADwelling.
    """
    choice(kind, EquipmentKind.values, field="kind")
    stands = present_place(place, field="place")
    if kind == EquipmentKind.TERMINAL:
        refuse_no_dwelling(stands, "A home terminal")
    name = text(name, 60, field="name", needed=True)
    serial = text(serial, 60, field="serial")
    _refuse_twin(stands, name, serial)
    count = 0 if kind == EquipmentKind.CLOSURE else ports
    if kind != EquipmentKind.CLOSURE:
        whole(ports, 1, PORTS_MAX, field="ports", noun="number of ports")
    for value, field in ((polish, "polish"), (back_polish or "", "back_polish")):
        choice(value, ["", *Polish.values], field=field)

    equipment = Equipment.objects.create(
        kind=kind,
        place=stands,
        name=name,
        serial=serial,
        entry=_entry(kind, entry),
        optical_class=_received_class(kind, optical_class),
    )
    if back_polish is None:
        back_polish = "" if kind == EquipmentKind.OUTLET else polish
    passages, points = passages_and_ports(equipment, count, polish, back_polish)
    Passage.objects.bulk_create(passages)
    Point.objects.bulk_create(points)
    _search.index_equipment([equipment])
    change.say(f"installed {equipment_name(equipment)}")
    return equipment


def _refuse_twin(place: Place, name: str, serial: str, *, but: int | None = None) -> None:
    others = Equipment.objects.exclude(pk=but) if but else Equipment.objects.all()
    if others.filter(place=place, name__iexact=name).exists():
        raise NameTaken(
            f"An equipment called {name} stands in {address(place)} already.",
            hint="Give this one another name.",
            field="name",
        )
    holder = others.filter(serial=serial).first() if serial else None
    if holder is not None:
        raise NameTaken(
            f"Serial {serial} belongs to {equipment_name(holder)}.",
            hint="Check the serial, or move that equipment instead of installing a new one.",
            field="serial",
            subjects=(holder.pk,),
        )


def _entry(kind: str, entry: int | None) -> CatalogueEntry | None:
    allowed = _ENTRY_KINDS.get(EquipmentKind(kind), ())
    if entry is None:
        return _default(kind) if allowed else None
    if not allowed:
        raise Malformed(
            f"A {kind} has no catalogue entry.", hint="Leave the entry empty.", field="entry"
        )
    found = existing(CatalogueEntry.objects, entry, field="entry")
    if found.kind not in allowed:
        raise Malformed(
            f"{found.name} is a {found.kind} entry, not one for a {kind}.",
            hint=f"Choose an entry of kind {' or '.join(allowed)}.",
            field="entry",
        )
    return found


def _default(kind: str) -> CatalogueEntry:
    if kind in {EquipmentKind.PANEL, EquipmentKind.OUTLET}:
        return default_entry(EntryKind.MATED)
    raise Malformed(
        f"A {kind} needs its type.",
        hint="Choose its catalogue entry, such as 1:32.",
        field="entry",
    )


def _received_class(kind: str, optical_class: int | None) -> OpticalClass | None:
    if optical_class is None:
        return None
    if kind != EquipmentKind.TERMINAL:
        raise Malformed(
            f"A {kind} receives no class.", hint="Leave the class empty.", field="optical_class"
        )
    return existing(OpticalClass.objects, optical_class, field="optical_class")


@verb
def move(change: OpenChange, equipment: int, *, place: int) -> Equipment:
    """Move an equipment to another place. Joined home terminals are parted first.

    Raises: Malformed, Missing, NameTaken, NotADwelling, StillJoined.
    """
    found = existing(Equipment.objects.select_related("place"), equipment, field="equipment")
    target = present_place(place, field="place")
    if target == found.place:
        raise Malformed(
            f"{found.name} stands in {address(target)} already.",
            hint="Choose the place it is moved to.",
            field="place",
        )
    if found.kind == EquipmentKind.TERMINAL:
        refuse_no_dwelling(target, "A home terminal")
        refuse_joined(found.ports.all(), equipment_name(found))
    _refuse_twin(target, found.name, "", but=found.pk)

    before = address(found.place)
    Equipment.objects.filter(pk=equipment).update(place=target)
    found.place = target
    _search.index_equipment([found])
    change.say(f"moved {found.name} from {before} to {address(target)}")
    return found


@verb
def rename(
    change: OpenChange, equipment: int, *, name: str, serial: str | None = None
) -> Equipment:
    """Give an equipment another name, or another serial. Raises: Malformed, Missing, NameTaken."""
    found = existing(Equipment.objects.select_related("place"), equipment, field="equipment")
    name = text(name, 60, field="name", needed=True)
    serial = found.serial if serial is None else text(serial, 60, field="serial")
    _refuse_twin(found.place, name, serial, but=found.pk)

    before = found.name
    Equipment.objects.filter(pk=equipment).update(name=name, serial=serial)
    found.name, found.serial = name, serial
    _search.index_equipment([found])
    change.say(f"renamed {before} to {equipment_name(found)}")
    return found


@verb
def remove(change: OpenChange, equipment: int) -> None:
    """Take an equipment out of the record. Raises: Missing, StillJoined, EquipmentInUse."""
    found = existing(Equipment.objects.select_related("place"), equipment, field="equipment")
    name = equipment_name(found)
    refuse_joined(found.ports.all(), name)
    for clash in _dependents(found):
        raise EquipmentInUse(f"{name} can't go: {clash}.", hint="Deal with that first.")

    why = f"removed: {name}"[:200]
    Tag.objects.filter(equipment=found).update(equipment=None, voided=why)
    Tag.objects.filter(point__equipment=found).update(point=None, voided=why)
    # Their history stays; the live rows go with the ports they are about.
    Booking.objects.filter(leg__equipment=found).delete()
    Reading.objects.filter(point__equipment=found).delete()
    Point.objects.filter(equipment=found).delete()
    Passage.objects.filter(equipment=found).delete()
    found.delete()
    _search.forget(Noun.EQUIPMENT, equipment)
    change.say(f"removed {name}")


def _dependents(found: Equipment) -> Iterator[str]:
    inside = Joint.objects.filter(stands_in=found).count()
    if inside:
        yield f"{inside} joints stand in it"
    ports = found.ports.all()
    if Channel.objects.filter(point__in=ports).exists():
        yield "its PON ports have channels"
    booked = Booking.objects.open().filter(leg__in=ports).count()
    if booked:
        yield f"{booked} of its legs are booked"
