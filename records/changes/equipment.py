"""Verbs for equipment: install, move, rename, remove."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from records.changes import _search
from records.changes._checks import (
    choice,
    existing,
    first_twin,
    named_alike,
    present_place,
    present_places,
    refuse_joined,
    text,
    whole,
)
from records.changes._equipment_types import classes_of, types_of
from records.changes._ports import Parts, passages_and_ports
from records.changes._transaction import OpenChange, for_many, verb
from records.changes.lines import refuse_no_dwelling
from records.changes.refusals import Malformed, NameTaken, Refusal
from records.models import (
    Booking,
    Channel,
    Equipment,
    EquipmentKind,
    Joint,
    Noun,
    Passage,
    Place,
    Point,
    Polish,
    Reading,
    Tag,
)
from records.queries.names import address, equipment_name

PORTS_MAX = 1152
"""Ports of one equipment (common practice: a full-height frame of 1152 adapters)."""


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
    wanted = NewEquipment(
        kind=kind,
        place=place,
        name=name,
        serial=serial,
        entry=entry,
        ports=ports,
        polish=polish,
        back_polish=back_polish,
        optical_class=optical_class,
    )
    (equipment,) = install_all(change, [wanted])
    change.say(f"installed {equipment_name(equipment)}")
    return equipment


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEquipment:
    """An equipment to install: see `install`."""

    kind: str
    place: int
    name: str
    serial: str = ""
    entry: int | None = None
    ports: int = 1
    polish: str = Polish.APC
    back_polish: str | None = None
    optical_class: int | None = None


@for_many
def install_all(_change: OpenChange, wanted: Sequence[NewEquipment]) -> list[Equipment]:
    """Install many equipment. Raises: what `install` raises."""
    for each in wanted:
        choice(each.kind, EquipmentKind.values, field="kind")
    places = present_places([each.place for each in wanted], field="place")
    for each in wanted:
        if each.kind == EquipmentKind.TERMINAL:
            refuse_no_dwelling(places[each.place], "A home terminal")
    names = [text(each.name, 60, field="name", needed=True) for each in wanted]
    serials = [text(each.serial, 60, field="serial") for each in wanted]
    stands = [places[each.place] for each in wanted]
    _refuse_twins(list(zip(stands, names, strict=True)))
    _refuse_held(serials)
    for each in wanted:
        _refuse_impossible(each)
    types = types_of({(each.kind, each.entry) for each in wanted})
    classes = classes_of((each.kind, each.optical_class) for each in wanted)

    installed = Equipment.objects.bulk_create(
        Equipment(
            kind=each.kind,
            place=places[each.place],
            name=name,
            serial=serial,
            entry=types[each.kind, each.entry],
            optical_class=classes.get(each.optical_class or 0),
        )
        for each, name, serial in zip(wanted, names, serials, strict=True)
    )
    parts = [_parts(new, each) for new, each in zip(installed, wanted, strict=True)]
    Passage.objects.bulk_create(passage for part in parts for passage in part.passages)
    Point.objects.bulk_create(point for part in parts for point in part.points)
    _search.index_equipment(installed)
    return installed


def _parts(owner: Equipment, wanted: NewEquipment) -> Parts:
    back_polish = wanted.back_polish
    if back_polish is None:
        back_polish = "" if wanted.kind == EquipmentKind.OUTLET else wanted.polish
    count = 0 if wanted.kind == EquipmentKind.CLOSURE else wanted.ports
    return passages_and_ports(owner, count, wanted.polish, back_polish)


def _refuse_impossible(wanted: NewEquipment) -> None:
    if wanted.kind != EquipmentKind.CLOSURE:
        whole(wanted.ports, 1, PORTS_MAX, field="ports", noun="number of ports")
    polishes = ((wanted.polish, "polish"), (wanted.back_polish or "", "back_polish"))
    for value, field in polishes:
        choice(value, ["", *Polish.values], field=field)


def _refuse_twins(wanted: Sequence[tuple[Place, str]], *, but: int | None = None) -> None:
    """Refuse two equipment of one name in the same place. Raises: NameTaken."""
    others = Equipment.objects.exclude(pk=but) if but else Equipment.objects.all()
    keys = [(place.pk, name) for place, name in wanted]
    beside = others.filter(place__in={place for place, _name in keys})
    there = named_alike(beside, (name for _place, name in keys))
    at = first_twin(keys, there.values_list("place", "name"))
    if at is not None:
        place, name = wanted[at]
        raise NameTaken(
            f"An equipment called {name} stands in {address(place)} already.",
            hint="Give this one another name.",
            field="name",
        )


def _refuse_held(serials: Iterable[str], *, but: int | None = None) -> None:
    """Refuse serials that another equipment has. Raises: NameTaken."""
    wanted = [serial for serial in serials if serial]
    others = Equipment.objects.exclude(pk=but) if but else Equipment.objects.all()
    holder = others.filter(serial__in=wanted).select_related("place").first() if wanted else None
    if holder is not None:
        raise NameTaken(
            f"Serial {holder.serial} belongs to {equipment_name(holder)}.",
            hint="Check the serial, or move that equipment instead of installing a new one.",
            field="serial",
            subjects=(holder.pk,),
        )
    for serial, times in Counter(wanted).items():
        if times > 1:
            raise NameTaken(
                f"Serial {serial} is given to {times} equipment.",
                hint="Check the serials: each is of one thing.",
                field="serial",
            )


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
    _refuse_twins([(target, found.name)], but=found.pk)

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
    _refuse_twins([(found.place, name)], but=found.pk)
    _refuse_held([serial], but=found.pk)

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
