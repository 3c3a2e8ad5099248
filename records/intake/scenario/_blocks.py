"""Chapter two: the three blocks. Splitters first, then the sheets that the crews handed in."""

from records.changes import OpenChange, cables, equipment, joints, places
from records.intake import Assumptions
from records.intake.scenario._diary import (
    Diary,
    entry,
    fibre_end,
    place,
    port,
    riser,
)
from records.models import EntryKind, EquipmentKind, JointKind, Place, PlaceKind, Role

BLOCK_B_CUPBOARDS = {1: "Floor 1", 2: "Floor 2", 3: "Floor 4", 4: "Floor 6"}
"""The floor on which each 1:8 of block B stands; it serves the floor above or below as well."""

WITH_TERMINALS = Assumptions(terminal_class="GPON B+")


def build(diary: Diary) -> None:
    """Build the blocks."""
    with diary.day(57, "Block A: two 1:32 splitters set and fed") as change:
        for number in (1, 2):
            _splitter(change, "Block A", f"S-A{number}", "1:32")
            _feed(change, "P-A", number, f"S-A{number}")
    diary.take_in(54, "block_a.csv", "Block A: taken in from the crew's sheet", WITH_TERMINALS)

    with diary.day(50, "Block B: a 1:4 in the riser, four 1:8 on the floors") as change:
        _splitter(change, "Block B", "S-B0", "1:4")
        _feed(change, "P-B", 1, "S-B0")
        for number, floor in BLOCK_B_CUPBOARDS.items():
            _second_stage(change, number, floor)
    diary.take_in(47, "block_b.csv", "Block B: taken in from the crew's sheet", WITH_TERMINALS)

    with diary.day(43, "Block C: a 2:32 fed twice, and a 1:32") as change:
        _splitter(change, "Block C", "S-C1", "2:32")
        _splitter(change, "Block C", "S-C2", "1:32")
        _feed(change, "P-C", 1, "S-C1")
        _feed(change, "P-C", 2, "S-C1", splitter_input=2)
        _feed(change, "P-C", 3, "S-C2")
    diary.take_in(40, "block_c.csv", "Block C: taken in from the crew's sheet", WITH_TERMINALS)


def _splitter(change: OpenChange, block: str, name: str, ratio: str) -> None:
    _install(change, riser(block), name, ratio)


def _install(change: OpenChange, stands: int, name: str, ratio: str) -> None:
    equipment.install(
        change,
        kind=EquipmentKind.SPLITTER,
        place=stands,
        name=name,
        entry=entry(EntryKind.SPLITTER, ratio),
    )


def _feed(
    change: OpenChange, panel: str, adapter: int, splitter: str, *, splitter_input: int = 1
) -> None:
    joints.patch(
        change,
        port(panel, Role.FRONT, adapter),
        port(splitter, Role.INPUT, splitter_input),
        length_m=1.5,
    )


def _second_stage(change: OpenChange, number: int, floor: str) -> None:
    """Set a 1:8 in a cupboard on its floor and feed it from a leg of the 1:4 by a riser cable."""
    block = Place.objects.get(name="Block B")
    storey = int(floor.rpartition(" ")[2])
    on_floor = places.add(change, kind=PlaceKind.FLOOR, name=floor, parent=block.pk, storey=storey)
    cupboard = places.add(
        change, kind=PlaceKind.CUPBOARD, name=f"Cupboard {number}", parent=on_floor.pk
    )
    splitter, riser_cable = f"S-B{number}", f"RB-{number}"
    _install(change, cupboard.pk, splitter, "1:8")
    cables.lay(
        change,
        name=riser_cable,
        a_place=riser("Block B"),
        b_place=place(f"Cupboard {number}"),
        length_m=6 + 3.5 * storey,
        a_polish="APC",
        b_polish="APC",
    )
    near, far = (fibre_end(riser_cable, 1, role) for role in (Role.A_END, Role.B_END))
    joints.join(change, port("S-B0", Role.LEG, number), near, kind=JointKind.MATED)
    joints.join(change, far, port(splitter, Role.INPUT), kind=JointKind.MATED)
