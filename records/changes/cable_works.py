"""Verbs for work on laid cables: reroute one, swap one for a new one.

A rerouted cable is the same thing on another way. A swapped one makes room for a new thing.
"""

from records.changes import _light, _search, cables
from records.changes._checks import (
    existing,
    length_cm,
    present_place,
    refuse_joined,
    text,
)
from records.changes._rejoining import Loose, put_on, take_off
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Refusal
from records.models import (
    Cable,
    Feed,
    JointEnd,
    Passage,
    Point,
    Role,
)
from records.queries.below import points_of
from records.queries.names import cable_name
from records.queries.words import counted


class FibreLacking(Refusal):
    """A swap for a cable that lacks a fibre which is in use in the old one."""

    code = "fibre_lacking"


@verb
def reroute(
    change: OpenChange,
    cable: int,
    *,
    length_m: float,
    a_place: int | None = None,
    b_place: int | None = None,
) -> Cable:
    """Take the same cable another way, perhaps to another place at one end.

    Fibres grow or shrink by as much as the cable; a measured loss was that of the old way. An end
    that goes to another place must be parted first. Raises: Malformed, Missing, NameTaken,
    PlaceRetired, StillJoined.
    """
    found = existing(Cable.objects.select_related("a_place", "b_place"), cable, field="cable")
    before = f"{cable_name(found)}, {found.length_m:g} m"
    grown_cm = length_cm(length_m) - found.length_cm
    _move_end(found, Role.A_END, a_place)
    _move_end(found, Role.B_END, b_place)
    fibres = list(Passage.objects.filter(cable=found))
    measured = [fibre for fibre in fibres if fibre.measured_mdb is not None and grown_cm]
    for fibre in fibres:
        fibre.length_cm = max(fibre.length_cm + grown_cm, 0)
        fibre.measured_mdb = None if grown_cm else fibre.measured_mdb

    found.length_cm += grown_cm
    found.save(update_fields=["length_cm", "a_place", "b_place"])
    Passage.objects.bulk_update(fibres, ["length_cm", "measured_mdb"], batch_size=500)
    _light.relight(change, _light.channels_at(points_of(found)))
    _search.index_cables([found])
    lost = f"; {len(measured)} measured losses no longer hold" if measured else ""
    now = f"{found.length_m:g} m, {found.a_place} to {found.b_place}"
    change.say(f"rerouted {before}: now {now}{lost}")
    return found


def _move_end(cable: Cable, role: Role, place: int | None) -> None:
    field = "a_place" if role == Role.A_END else "b_place"
    if place is None or place == getattr(cable, f"{field}_id"):
        return
    target = present_place(place, field=field)
    ends = Point.objects.filter(passage__cable=cable, role=role)
    refuse_joined(ends, f"The {role} of {cable_name(cable)}")
    if role == Role.A_END:
        cables.refuse_same_name(target, cable.name, but=cable.pk)
    setattr(cable, field, target)


@verb
def swap(
    change: OpenChange,
    cable: int,
    *,
    length_m: float,
    name: str = "",
    fibre_count: int | None = None,
    entry: int | None = None,
    colour_scheme: int | None = None,
) -> Cable:
    """Lay a new cable beside an old one, move all joints over fibre by fibre, remove the old.

    Connectors are as on the old one. Its damage, measured losses and readings go with it; its tags
    are void. Raises: Missing, FibreLacking, and what `lay` and `joints.join` raise.
    """
    old = existing(Cable.objects.select_related("a_place", "b_place"), cable, field="cable")
    count = old.fibre_count if fibre_count is None else fibre_count
    wanted = text(name, 60, field="name") or old.name
    _refuse_lacking(old, count)
    polishes = dict(Point.objects.filter(passage__cable=old).values_list("role", "polish"))

    new = cables.lay(
        change,
        name=f"{old.pk} in change {change.number}",  # until the old one has left its name
        a_place=old.a_place_id,
        b_place=old.b_place_id,
        length_m=length_m,
        fibre_count=count,
        kind=old.kind,
        entry=entry or old.entry_id,
        colour_scheme=colour_scheme or old.colour_scheme_id,
        a_polish=polishes[Role.A_END],
        b_polish=polishes[Role.B_END],
        diameter_mm=old.diameter_mm if count == old.fibre_count else None,
    )
    moved = sum(_move_fibre(change, old, new, number) for number in _used(old))
    before = cable_name(old)
    cables.remove(change, old.pk)
    new = cables.rename(change, new.pk, name=wanted)
    change.say(
        f"swapped {before} for a new cable, {cable_name(new)}, {counted(count, 'fibre')}, "
        f"{new.length_m:g} m, which took over {counted(moved, 'joint')}; the tags "
        "of the old one are void"
    )
    return new


def _used(cable: Cable) -> list[int]:
    ends = JointEnd.objects.filter(point__passage__cable=cable)
    return sorted(set(ends.values_list("point__number", flat=True)))


def _refuse_lacking(old: Cable, count: int) -> None:
    for number in _used(old):
        if number > count:
            raise FibreLacking(
                f"Fibre {number} of {cable_name(old)} is in use; the new cable has {count}.",
                hint="Choose one with as many fibres, or move that one's joints first.",
                field="fibre_count",
                subjects=(old.pk,),
            )


def _move_fibre(change: OpenChange, old: Cable, new: Cable, number: int) -> int:
    """Move one fibre's joints, the lit end first off and last on. Returns how many there were."""
    first, second = _fibre_ends(old, number)
    if Feed.objects.filter(point=first, upstream=second).exists():
        first, second = second, first
    successors = dict(zip(_fibre_ends(old, number), _fibre_ends(new, number), strict=True))
    loose: list[tuple[int, Loose | None]] = [
        (end, take_off(change, end)) for end in (first, second)
    ]
    hung = [(end, each) for end, each in reversed(loose) if each is not None]
    for end, each in hung:
        put_on(change, each, successors[end])
    return len(hung)


def _fibre_ends(cable: Cable, number: int) -> list[int]:
    ends = Point.objects.filter(passage__cable=cable, number=number).order_by("side")
    return list(ends.values_list("pk", flat=True))
