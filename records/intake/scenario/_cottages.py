"""Chapter three: a row of cottages, fed over a chamber and a pole, spliced all the way.

DC-1 - S-R1 in Chamber 2 - DC-2 (24 fibres) - Closure 3 on Pole 1 - DR-1 .. DR-18
"""

from records.changes import OpenChange, bookings, cables, equipment, joints, places, readings
from records.intake.scenario._diary import (
    Diary,
    entry,
    fibre_end,
    optical_class,
    place,
    port,
    splice,
)
from records.models import EntryKind, EquipmentKind, Line, PlaceKind, Role

COTTAGES = 18
CONNECTED = 16
"""Cottages with a home terminal; the next one is promised a leg, the last one is not built."""

WEAK, WEAK_LEVEL_DBM = 11, -24.8


def build(diary: Diary) -> None:
    """Build the row."""
    with diary.day(36, "Cottages: splitter, distribution cable and pole") as change:
        _distribution(change)
    with diary.day(34, "Cottages 1 to 9 connected") as change:
        for number in range(1, 10):
            _cottage(change, number)
    with diary.day(33, "Cottages 10 to 16 connected, 17 promised, 18 not built yet") as change:
        for number in range(10, COTTAGES + 1):
            _cottage(change, number)


def _distribution(change: OpenChange) -> None:
    chamber, pole = place("Chamber 2"), place("Pole 1")
    equipment.install(change, kind=EquipmentKind.CLOSURE, place=chamber, name="Closure 2")
    equipment.install(change, kind=EquipmentKind.CLOSURE, place=pole, name="Closure 3")
    equipment.install(
        change,
        kind=EquipmentKind.SPLITTER,
        place=chamber,
        name="S-R1",
        entry=entry(EntryKind.SPLITTER, "1:32"),
        polish="",
    )
    cables.lay(change, name="DC-2", a_place=chamber, b_place=pole, length_m=164, fibre_count=24)
    near, splitter_input = fibre_end("DC-1", 1, Role.B_END), port("S-R1", Role.INPUT)
    splice(change, near, splitter_input, housing="Closure 2", tray=1)
    for number in range(1, COTTAGES + 1):
        leg, end = port("S-R1", Role.LEG, number), fibre_end("DC-2", number, Role.A_END)
        splice(change, leg, end, housing="Closure 2", tray=2 + (number - 1) // 12)


def _cottage(change: OpenChange, number: int) -> None:
    house = places.add(
        change, kind=PlaceKind.HOUSE, name=f"Cottage {number}", parent=place("Alder Row")
    ).pk
    if number > CONNECTED + 1:
        return
    bookings.book(change, port("S-R1", Role.LEG, number), line=Line.objects.get(place=house).pk)
    if number <= CONNECTED:
        _connect(change, number, house)


def _connect(change: OpenChange, number: int, house: int) -> None:
    name, drop = f"Cottage {number}", f"DR-{number}"
    cables.lay(
        change, name=drop, a_place=place("Pole 1"), b_place=house, length_m=24 + number * 3.5
    )
    outlet = equipment.install(
        change, kind=EquipmentKind.OUTLET, place=house, name="Outlet", back_polish=""
    )
    equipment.install(
        change,
        kind=EquipmentKind.TERMINAL,
        place=house,
        name="Terminal",
        serial=f"DEMO{0xC0 + number:02X}51{number * 0x5D3 % 0x10000:04X}",
        optical_class=optical_class("GPON", "B+"),
    )
    distribution, near = fibre_end("DC-2", number, Role.B_END), fibre_end(drop, 1, Role.A_END)
    splice(change, distribution, near, housing="Closure 3", tray=1 + (number - 1) // 12)
    joints.join(
        change,
        fibre_end(drop, 1, Role.B_END),
        port("Outlet", Role.BACK, at=name),
        kind="fusion",
        stands_in=outlet.pk,
    )
    terminal = port("Terminal", Role.TERMINAL, at=name)
    joints.patch(change, port("Outlet", Role.FRONT, at=name), terminal)
    level_dbm = WEAK_LEVEL_DBM if number == WEAK else -17.6 - 0.1 * (number * 3 % 8)
    readings.read(change, terminal, wavelength_nm=1490, level_dbm=level_dbm, meter="PM-2")
