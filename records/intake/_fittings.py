"""What hangs in the flats of a sheet: outlets and home terminals."""

from collections import defaultdict
from collections.abc import Iterable

from records.intake._chunks import chunked
from records.intake._faults import Findings
from records.intake._keys import name_key, serial_key
from records.intake._plan import Draft, Item, Kind, pks_of
from records.models import Equipment, EquipmentKind, Point, Role
from records.queries.names import equipment_name

_KINDS = (EquipmentKind.OUTLET, EquipmentKind.TERMINAL)


class Fittings:
    """The outlets and terminals in the flats of a sheet, and who has its serials."""

    def __init__(self, drafts: Iterable[Draft]) -> None:
        """Read them with their ports."""
        listed = list(drafts)
        self._in_flat: dict[tuple[int, str], list[Equipment]] = defaultdict(list)
        for each in chunked(
            Equipment.objects.filter(kind__in=_KINDS), "place__in", pks_of(listed, Kind.FLAT)
        ):
            self._in_flat[each.place_id, each.kind].append(each)
        known = [each.pk for some in self._in_flat.values() for each in some]
        self.ports = {
            (each.equipment_id, each.role, each.number): each
            for each in chunked(Point.objects.all(), "equipment__in", known)
        }
        self._holders = {
            serial_key(each.serial): each
            for each in chunked(
                Equipment.objects.select_related("place"), "serial__in", _spellings(listed)
            )
        }

    def find(self, draft: Draft, outlet: str, findings: Findings) -> None:
        """Put the outlet and the terminal of a row in. `outlet` is what a new one is called."""
        flat = draft.items.get(Kind.FLAT)
        if flat is None or not draft.entry.cable:
            return
        self._find_outlet(draft, flat, outlet)
        if draft.entry.serial:
            self._find_terminal(draft, flat, findings)

    def _find_outlet(self, draft: Draft, flat: Item, assumed: str) -> None:
        name = draft.entry.outlet or assumed
        hanging = self._in_flat[flat.pk, EquipmentKind.OUTLET] if flat.pk else []
        found = [each for each in hanging if name_key(each.name) == name_key(name)]
        if not found and not draft.entry.outlet and len(hanging) == 1:
            found = hanging
        if found:
            draft.add(Item(Kind.OUTLET, ("outlet", found[0].pk), found[0].name, found[0].pk))
        else:
            draft.add(Item(Kind.OUTLET, ("outlet", *flat.key, name_key(name)), name))

    def _find_terminal(self, draft: Draft, flat: Item, findings: Findings) -> None:
        serial = draft.entry.serial
        holder = self._holders.get(serial_key(serial))
        here = self._in_flat[flat.pk, EquipmentKind.TERMINAL] if flat.pk else []
        found = next((e for e in here if serial_key(e.serial) == serial_key(serial)), None)
        if found:
            name = f"{found.name} {found.serial}"
            draft.add(Item(Kind.TERMINAL, ("terminal", found.pk), name, found.pk))
        elif holder:
            findings.fault(
                draft.entry.row,
                "serial",
                serial,
                f"{serial} is the serial of {equipment_name(holder)}.",
                allowed="Another serial; or move that equipment first.",
            )
        elif here:
            had = here[0].serial or "one without a serial"
            findings.fault(
                draft.entry.row,
                "serial",
                serial,
                f"{flat.name} already has a home terminal: {had}.",
                allowed="Its serial; or remove it first if it was swapped.",
            )
        else:
            draft.add(Item(Kind.TERMINAL, ("terminal", serial_key(serial)), serial))

    def port(self, draft: Draft, kind: Kind, role: Role) -> Point | None:
        """Return the first port of a role of the outlet or terminal of a row, if recorded."""
        pk = draft.pk(kind)
        return self.ports.get((pk, role, 1)) if pk else None


def _spellings(drafts: Iterable[Draft]) -> set[str]:
    """Return the serials as typed and in either case, so that the index on them serves."""
    serials = {each.entry.serial for each in drafts if each.entry.serial}
    return {spelt for each in serials for spelt in (each, each.upper(), each.lower())}
