"""Chapter five: what happened since. Repairs, a change of mind, open troubles, work planned."""

from records.changes import OpenChange, bookings, cables, equipment, joints, readings
from records.intake.scenario import _jobs
from records.intake.scenario._diary import LATEST_REASON, Diary, optical_class, port, unplug
from records.models import Cable, Equipment, EquipmentKind, Line, Place, Role

BARRED = (
    ("S-A1", 28, "adapter cracked; waits for a new one"),
    ("S-A2", 30, "loses 3 dB more than its neighbours"),
    ("S-B4", 8, "pigtail broken at the tray"),
    ("S-C1", 32, "kept free for tests"),
    ("S-C2", 32, "adapter missing"),
)


def build(diary: Diary) -> None:
    """Go on from the day the labels were stuck."""
    with diary.day(24, "Free legs tested before handing over") as change:
        for splitter, number, why in BARRED:
            bookings.bar(change, port(splitter, Role.LEG, number), why=why)
    with diary.day(20, "S-C2 moved to fibre 4: fibre 3 crushed at the riser's entry") as change:
        _move_to_another_fibre(change)
    with diary.day(16, "Flat 14 of Block A moved to XGS-PON") as change:
        _swap_terminal(change)
    with diary.day(13, "Flat 48 of Block A to be built in spring: a leg kept for it") as change:
        line = Line.objects.get(place=_flat("Block A", "Flat 48"))
        bookings.book(change, port("S-A2", Role.LEG, 24), line=line.pk)
    with diary.day(12, "P-C called P-C1: a second panel comes beside it in spring") as change:
        equipment.rename(change, _panel("P-C"), name="P-C1")
    with diary.day(10, "Adapter of S-A1, leg 28, changed") as change:
        bookings.unbar(change, port("S-A1", Role.LEG, 28))
    with diary.day(9, "Flat 48 of Block A put off: its leg given back") as change:
        bookings.release(change, port("S-A2", Role.LEG, 24))
    with diary.day(7, "Flat 19 of Block C: connector cleaned and read again") as change:
        _read(change, _terminal("Block C", "Flat 19"), -18.6, note="after cleaning")
    with diary.day(4, "Cottage 4: drop cut by a digger, no light") as change:
        cables.damage(change, Cable.objects.get(name="DR-4").pk, fibre=1, why="cut by a digger")
        _read(change, port("Terminal", Role.TERMINAL, at="Cottage 4"), None, note="drop cut")
    _jobs.build(diary)
    with diary.day(1, LATEST_REASON) as change:
        for number, loss_db in enumerate((16.2, 16.4, 16.1, 16.7), start=1):
            bookings.measure(change, port("S-A1", Role.LEG, number), loss_db=loss_db)


def _move_to_another_fibre(change: OpenChange) -> None:
    """Mark the crushed fibre and patch round it at both ends."""
    cable = Cable.objects.get(name="BC-C")
    cables.damage(change, cable.pk, fibre=3, why="crushed at the riser's entry")
    unplug(change, port("P-C", Role.FRONT, 3))
    unplug(change, port("OLT1", Role.PON, 6))
    joints.patch(change, port("P-C", Role.FRONT, 4), port("S-C2", Role.INPUT), length_m=1.5)
    joints.patch(change, port("OLT1", Role.PON, 6), port("P1", Role.FRONT, 12), length_m=3)


def _panel(name: str) -> int:
    return int(Equipment.objects.get(name=name, kind=EquipmentKind.PANEL).pk)


def _swap_terminal(change: OpenChange) -> None:
    flat = _flat("Block A", "Flat 14")
    old = flat.equipment.get(kind=EquipmentKind.TERMINAL)
    front = flat.equipment.get(kind=EquipmentKind.OUTLET).ports.get(role=Role.FRONT)
    unplug(change, front.pk)
    equipment.remove(change, old.pk)
    new = equipment.install(
        change,
        kind=EquipmentKind.TERMINAL,
        place=flat.pk,
        name="Terminal",
        serial="DEMOA5517C02",
        optical_class=optical_class("XGS-PON", "N1"),
    )
    joints.patch(change, front.pk, new.ports.get().pk)
    _read(change, new.ports.get().pk, -17.4, wavelength_nm=1577)


def _flat(block: str, name: str) -> Place:
    around = Place.objects.get(name=block)
    found: Place = Place.objects.get(name=name, path__startswith=around.path)
    return found


def _terminal(block: str, name: str) -> int:
    terminal: Equipment = _flat(block, name).equipment.get(kind=EquipmentKind.TERMINAL)
    return terminal.ports.get().pk


def _read(
    change: OpenChange,
    point: int,
    level_dbm: float | None,
    *,
    wavelength_nm: int = 1490,
    note: str = "",
) -> None:
    readings.read(
        change, point, wavelength_nm=wavelength_nm, level_dbm=level_dbm, meter="PM-1", note=note
    )
