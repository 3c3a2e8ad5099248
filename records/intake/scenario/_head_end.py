"""Chapter one: the head-end room, the feeder, and the cables to the blocks.

OLT1 - cord - P1 - F1 (24 fibres) - Closure 1 in Chamber 1 - BC-A, BC-B, BC-C, DC-1
"""

from typing import NamedTuple

from records.changes import OpenChange, cables, channels, equipment, joints, places
from records.intake.scenario._diary import (
    ESTATE,
    Diary,
    entry,
    fibre_end,
    optical_class,
    place,
    port,
    riser,
    splice,
)
from records.models import Channel, EntryKind, EquipmentKind, PlaceKind, Role

FEEDER_FIBRES = 24
TRAY_SIZE = 12
PON_PORTS = 8


class BlockCable(NamedTuple):
    """A cable from Chamber 1 to a block: its size, its length, its first fibre in the feeder."""

    block: str
    name: str
    fibre_count: int
    length_m: float
    first_in_feeder: int


BLOCK_CABLES = (
    BlockCable("Block A", "BC-A", 4, 118, 1),
    BlockCable("Block B", "BC-B", 4, 176, 5),
    BlockCable("Block C", "BC-C", 8, 243, 9),
)
ROW_CABLE = BlockCable("Alder Row", "DC-1", 4, 428, 17)

FEEDS = {1: 1, 2: 2, 3: 5, 4: 9, 5: 10, 6: 11, 7: 17}
"""The adapter of P1, and so the fibre of F1, that each PON port is patched to."""


def build(diary: Diary) -> None:
    """Build from the OLT to the risers, then light the ports."""
    with diary.day(68, "Head-end room fitted out") as change:
        _places(change)
        _head_end(change)
    with diary.day(66, "Feeder blown in from the head-end to Chamber 1") as change:
        _feeder(change)
    for days_ago, cable in zip((64, 63, 62), BLOCK_CABLES, strict=True):
        with diary.day(days_ago, f"{cable.block}: cable from Chamber 1 to the riser") as change:
            _block_cable(change, cable)
    with diary.day(61, "Cable from Chamber 1 to the cottages' chamber") as change:
        _row_cable(change)
    with diary.day(60, "PON ports patched to the feeder and lit") as change:
        _patch(change)
        _light(change)


def _places(change: OpenChange) -> None:
    estate = places.add(change, kind=PlaceKind.ESTATE, name=ESTATE, note="invented").pk
    for kind, name in (
        (PlaceKind.HEAD_END, "Head-end"),
        (PlaceKind.CHAMBER, "Chamber 1"),
        (PlaceKind.CHAMBER, "Chamber 2"),
        (PlaceKind.POLE, "Pole 1"),
    ):
        places.add(change, kind=kind, name=name, parent=estate)
    for cable in BLOCK_CABLES:
        block = places.add(change, kind=PlaceKind.BUILDING, name=cable.block, parent=estate).pk
        places.add(change, kind=PlaceKind.CUPBOARD, name="Riser", parent=block)
    places.add(change, kind=PlaceKind.BUILDING, name=ROW_CABLE.block, parent=estate)


def _head_end(change: OpenChange) -> None:
    room = place("Head-end")
    equipment.install(
        change, kind=EquipmentKind.OLT, place=room, name="OLT1", ports=PON_PORTS, polish="UPC"
    )
    _panel(change, room, "P1", FEEDER_FIBRES)


def _panel(change: OpenChange, stands: int, name: str, adapters: int) -> None:
    """Install a panel with angled adapters in front and pigtails to splice behind."""
    equipment.install(
        change,
        kind=EquipmentKind.PANEL,
        place=stands,
        name=name,
        ports=adapters,
        polish="APC",
        back_polish="",
    )


def _feeder(change: OpenChange) -> None:
    equipment.install(
        change, kind=EquipmentKind.CLOSURE, place=place("Chamber 1"), name="Closure 1"
    )
    cables.lay(
        change,
        name="F1",
        a_place=place("Head-end"),
        b_place=place("Chamber 1"),
        length_m=1850,
        fibre_count=FEEDER_FIBRES,
        entry=entry(EntryKind.FIBRE, "G.652.D"),
    )
    for number in range(1, FEEDER_FIBRES + 1):
        pigtail, end = port("P1", Role.BACK, number), fibre_end("F1", number, Role.A_END)
        splice(change, pigtail, end, housing="P1", tray=_tray(number))


def _tray(number: int) -> int:
    return (number - 1) // TRAY_SIZE + 1


def _block_cable(change: OpenChange, cable: BlockCable) -> None:
    panel = f"P-{cable.block[-1]}"
    _panel(change, riser(cable.block), panel, cable.fibre_count)
    _lay_from_chamber(change, cable, riser(cable.block))
    for number in range(1, cable.fibre_count + 1):
        pigtail, end = port(panel, Role.BACK, number), fibre_end(cable.name, number, Role.B_END)
        splice(change, pigtail, end, housing=panel, tray=1)


def _row_cable(change: OpenChange) -> None:
    _lay_from_chamber(change, ROW_CABLE, place("Chamber 2"))


def _lay_from_chamber(change: OpenChange, cable: BlockCable, b_place: int) -> None:
    """Lay a cable from Chamber 1 and splice it to the feeder, each splice measured."""
    cables.lay(
        change,
        name=cable.name,
        a_place=place("Chamber 1"),
        b_place=b_place,
        length_m=cable.length_m,
        fibre_count=cable.fibre_count,
        entry=entry(EntryKind.FIBRE, "G.652.D"),
    )
    for number in range(1, cable.fibre_count + 1):
        in_feeder = cable.first_in_feeder + number - 1
        feeder, end = (
            fibre_end("F1", in_feeder, Role.B_END),
            fibre_end(cable.name, number, Role.A_END),
        )
        loss_db = 0.03 + 0.01 * (in_feeder * 7 % 8)
        splice(change, feeder, end, housing="Closure 1", tray=_tray(in_feeder), loss_db=loss_db)


def _patch(change: OpenChange) -> None:
    for number, adapter in FEEDS.items():
        joints.patch(
            change, port("OLT1", Role.PON, number), port("P1", Role.FRONT, adapter), length_m=3
        )


def _light(change: OpenChange) -> None:
    """Light GPON on seven ports and XGS-PON beside it on three; port 5 stands by for port 4."""
    gpon, xgs_pon = optical_class("GPON", "B+"), optical_class("XGS-PON", "N1")
    for number in (1, 2, 3, 4, 6, 7):
        channels.light(change, port("OLT1", Role.PON, number), optical_class=gpon)
    for number in (1, 4):
        channels.light(change, port("OLT1", Role.PON, number), optical_class=xgs_pon)
    for each in (gpon, xgs_pon):
        main = Channel.objects.get(point=port("OLT1", Role.PON, 4), optical_class=each)
        channels.light(change, port("OLT1", Role.PON, 5), optical_class=each, standby_for=main.pk)
    measured = Channel.objects.get(point=port("OLT1", Role.PON, 1), optical_class=gpon)
    channels.measure(change, measured.pk, launch_dbm=3.4)
