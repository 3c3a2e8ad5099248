"""Verbs that cut a cable mid-span: cut.

The cable stays itself up to the cut. The rest is a new cable, whose far ends are the old far ends:
their joints, tags and readings never moved.
"""

from collections.abc import Sequence
from typing import NamedTuple

from records.changes import _light, _search, cables, equipment
from records.changes._checks import choice, existing, length_cm, text, whole
from records.changes._transaction import OpenChange, verb
from records.changes.cables import FIBRES_MAX
from records.changes.refusals import Malformed
from records.models import (
    Cable,
    CableKind,
    EntryKind,
    Equipment,
    EquipmentKind,
    Fibre,
    Joint,
    JointEnd,
    JointKind,
    Passage,
    Place,
    Point,
    Role,
    Tag,
)
from records.queries.below import Hanging, below, points_of
from records.queries.catalogue import default_entry
from records.queries.names import address, cable_name, equipment_name
from records.queries.words import counted

TRAY_FIBRES = 12
"""Splices on one tray (common practice)."""


class Cut(NamedTuple):
    """What a cut makes: the closure it lies in, and the cable beyond it."""

    closure: Equipment
    far_cable: Cable


@verb
def cut(
    change: OpenChange,
    cable: int,
    *,
    at_m: float,
    place: int | None = None,
    closure_name: str = "",
    closure: int | None = None,
    far_name: str = "",
    kind: str = JointKind.FUSION,
    tray_fibres: int = TRAY_FIBRES,
) -> Cut:
    """Cut a cable `at_m` metres from its A end, and splice all fibres through in a closure.

    The closure is one that stands there, or a new one at `place`. Joints at both ends, and the
    tags and readings there, stay as they are: a far end is the same end of a new cable. Damage is
    noted on both parts, as it is not known on which side it lies.
    Raises: Malformed, Missing, NameTaken, PlaceRetired.
    """
    found = existing(Cable.objects.select_related("a_place", "b_place"), cable, field="cable")
    choice(kind, [JointKind.FUSION, JointKind.MECHANICAL], field="kind")
    whole(tray_fibres, 1, FIBRES_MAX, field="tray_fibres", noun="number of splices a tray")
    fibres = _refuse_uncuttable(found, at_m)
    housing = _closure(change, closure, place, closure_name)
    beyond = text(far_name, 60, field="far_name") or f"{found.name[:58]}-2"
    cables.refuse_same_name(housing.place, beyond)

    before, homes = cable_name(found), below(points_of(found))
    far = _far_cable(found, length_cm(at_m, field="at_m"), housing.place, beyond)
    _split(found, far, fibres)
    _splice(found, far, housing, _trays(found, tray_fibres, kind))
    _light.relight(change, _light.channels_at([*points_of(found), *points_of(far)]))
    _note_dark_meanwhile(change, homes)
    _search.index_cables([found, far])
    change.say(
        f"cut {before} at {at_m:g} m in {equipment_name(housing)}: it ends there, and the rest is "
        f"a new cable, {cable_name(far)}; {counted(found.fibre_count, 'fibre')} spliced through"
    )
    return Cut(housing, far)


def _note_dark_meanwhile(change: OpenChange, homes: Sequence[Hanging]) -> None:
    """Note that homes lost their channels through the cable, and have them again once spliced."""
    for is_lit in (False, True):
        for home in homes:
            change.light.extend([(home.point_id, is_lit)] * home.channel_count)


def _refuse_uncuttable(cable: Cable, at_m: float) -> Sequence[Passage]:
    """Return the fibres in order if the cable can be cut there. Raises: Malformed."""
    at_cm = length_cm(at_m, field="at_m")
    fibres = list(Fibre.objects.filter(cable=cable).order_by("number"))
    shortest = min(cable.length_cm, *(fibre.length_cm for fibre in fibres))
    if cable.kind == CableKind.CORD:
        raise Malformed(
            f"{cable_name(cable)} is a patch cord.",
            hint="Take the cord out and patch anew.",
            field="cable",
        )
    if not 0 < at_cm < shortest:
        raise Malformed(
            f"{cable_name(cable)} can't be cut at {at_m:g} m.",
            hint=f"Give a number of metres between 0 and {shortest / 100:g}, from its A end.",
            field="at_m",
        )
    return fibres


def _closure(change: OpenChange, closure: int | None, place: int | None, name: str) -> Equipment:
    if closure is None and place is not None:
        return equipment.install(change, kind=EquipmentKind.CLOSURE, place=place, name=name)
    if closure is None:
        raise Malformed(
            "Neither a closure nor a place for a new one is given.",
            hint="Choose the closure, or the place and a name for it.",
            field="closure",
        )
    found = existing(Equipment.objects.select_related("place"), closure, field="closure")
    if found.kind != EquipmentKind.CLOSURE:
        raise Malformed(
            f"{equipment_name(found)} is a {found.kind}.",
            hint="Choose a closure.",
            field="closure",
        )
    if place is not None and place != found.place_id:
        raise Malformed(
            f"{found.name} stands in {address(found.place)}.",
            hint="Leave the place empty.",
            field="place",
        )
    return found


def _far_cable(near: Cable, at_cm: int, place: Place, name: str) -> Cable:
    return Cable.objects.create(
        kind=near.kind,
        name=name,
        a_place=place,
        b_place=near.b_place,
        entry=near.entry,
        colour_scheme=near.colour_scheme,
        fibre_count=near.fibre_count,
        length_cm=near.length_cm - at_cm,
        diameter_mm=near.diameter_mm,
    )


def _split(near: Cable, far: Cable, fibres: Sequence[Passage]) -> None:
    """Give the far cable the far part of each fibre, and the near one new ends at the cut."""
    at_cm = near.length_cm - far.length_cm
    beyond = Passage.objects.bulk_create(
        [
            Passage(
                cable=far,
                number=fibre.number,
                entry_id=fibre.entry_id,
                length_cm=fibre.length_cm - at_cm,
                damage=fibre.damage,
            )
            for fibre in fibres
        ]
    )
    _share_ends(fibres, beyond)
    for fibre in fibres:
        fibre.length_cm, fibre.measured_mdb = at_cm, None
    Passage.objects.bulk_update(fibres, ["length_cm", "measured_mdb"], batch_size=500)
    Tag.objects.filter(cable=near, cable_end="B").update(cable=far)
    near.b_place, near.length_cm = far.a_place, at_cm
    near.save(update_fields=["b_place", "length_cm"])


def _share_ends(near: Sequence[Passage], far: Sequence[Passage]) -> None:
    ends = Point.objects.filter(passage__in=near, role=Role.B_END).order_by("number")
    moved = list(ends)
    for end, fibre in zip(moved, far, strict=True):
        end.passage = fibre
    Point.objects.bulk_update(moved, ["passage"], batch_size=500)
    cut = [(fibre, Role.B_END, 1) for fibre in near] + [(fibre, Role.A_END, 0) for fibre in far]
    Point.objects.bulk_create(
        [
            Point(passage=fibre, role=role, side=side, number=fibre.number)
            for fibre, role, side in cut
        ]
    )


def _trays(cable: Cable, tray_fibres: int, kind: str) -> list[Joint]:
    """Return the splices to be, in the order of the fibres, so many on a tray."""
    entry = default_entry(EntryKind(kind))
    return [
        Joint(kind=kind, entry=entry, tray=str(index // tray_fibres + 1))
        for index in range(cable.fibre_count)
    ]


def _splice(near: Cable, far: Cable, housing: Equipment, splices: list[Joint]) -> None:
    """Splice the cut ends number to number. Light follows in one go for the whole cable."""
    for splice in splices:
        splice.stands_in = housing
    made = Joint.objects.bulk_create(splices)
    for side, cable, role in ((1, near, Role.B_END), (2, far, Role.A_END)):
        ends = Point.objects.filter(passage__cable=cable, role=role).order_by("number")
        JointEnd.objects.bulk_create(
            [
                JointEnd(point=end, joint=joint, side=side)
                for end, joint in zip(ends, made, strict=True)
            ]
        )
