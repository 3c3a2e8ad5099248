"""Verbs for joints: join, part, patch, measure, unmeasure."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db import connection

from records.changes import _light, cables
from records.changes._checks import (
    choice,
    existing,
    existing_all,
    loss_mdb,
    refuse_unmeasured,
    text,
)
from records.changes._cords import cord_names, plugs, standing_places
from records.changes._ends import STANDING, free_pairs, refuse_unfit
from records.changes._transaction import OpenChange, for_many, verb
from records.changes.refusals import Malformed, Refusal
from records.models import (
    Cable,
    CableKind,
    CatalogueEntry,
    EntryKind,
    Equipment,
    EquipmentKind,
    Joint,
    JointEnd,
    JointKind,
    Point,
)
from records.queries.catalogue import default_entry
from records.queries.names import address, named_points, short_name

HOUSES_JOINTS = (EquipmentKind.CLOSURE, EquipmentKind.PANEL, EquipmentKind.OUTLET)


class NotJoined(Refusal):
    """A parting of what is not joined."""

    code = "not_joined"


@verb
def join(
    change: OpenChange,
    a: int,
    b: int,
    *,
    kind: str,
    entry: int | None = None,
    stands_in: int | None = None,
    tray: str = "",
    loss_db: float | None = None,
) -> Joint:
    """Make two points one, and light what that lights.

    `stands_in` is the closure, panel or outlet that holds the joint, on `tray`. A measured
    `loss_db` replaces the catalogue's values.
    Raises: Malformed, Missing, PointJoined, SamePoint, WrongPolish, BareEnd, BothSend, and what
    light refuses: Loop, SecondPath, FacingLight, SameWavelength, WrongWay, LegOfAnother.
    """
    wanted = NewJoint(
        a=a, b=b, kind=kind, entry=entry, stands_in=stands_in, tray=tray, loss_db=loss_db
    )
    ((joint, one, other),) = _make(change, [wanted])
    _warn_if_apart(change, one, other)
    change.say(f"joined {short_name(one)} to {short_name(other)}, {_where(one, other)}")
    return joint


@dataclass(frozen=True, slots=True, kw_only=True)
class NewJoint:
    """Two points to make one: see `join`."""

    a: int
    b: int
    kind: str
    entry: int | None = None
    stands_in: int | None = None
    tray: str = ""
    loss_db: float | None = None


@for_many
def join_all(change: OpenChange, wanted: Sequence[NewJoint]) -> list[Joint]:
    """Join many pairs of points, and light what that lights. Raises: what `join` raises."""
    return [new.joint for new in _make(change, wanted)]


def _make(change: OpenChange, wanted: Sequence[NewJoint]) -> list[_light.New]:
    for each in wanted:
        choice(each.kind, JointKind.values, field="kind")
    pairs = free_pairs([(each.a, each.b) for each in wanted])
    for (one, other), each in zip(pairs, wanted, strict=True):
        refuse_unfit(one, other, each.kind)
    types = _types({(each.kind, each.entry) for each in wanted})
    housings = _housings({each.stands_in for each in wanted if each.stands_in is not None})

    joints = Joint.objects.bulk_create(
        Joint(
            kind=each.kind,
            entry=types[each.kind, each.entry],
            stands_in=None if each.stands_in is None else housings[each.stands_in],
            tray=text(each.tray, 20, field="tray"),
            measured_mdb=loss_mdb(each.loss_db),
        )
        for each in wanted
    )
    made = [_light.New(new, *pair) for new, pair in zip(joints, pairs, strict=True)]
    JointEnd.objects.bulk_create(
        JointEnd(point=point, joint=new.joint, side=side)
        for new in made
        for side, point in ((1, new.a), (2, new.b))
    )
    _light.joined(change, made)
    return made


def _where(one: Point, other: Point) -> str:
    outer, inner = sorted((one.place, other.place), key=lambda place: len(place.path))
    return f"in {inner}" if inner.path.startswith(outer.path) else f"in {outer} and {inner}"


def _warn_if_apart(change: OpenChange, one: Point, other: Point) -> None:
    if change.depth > 1:
        return  # a verb of several steps puts back what hung there before, or lays a cord between
    here, there = one.place, other.place
    if here.path.startswith(there.path) or there.path.startswith(here.path):
        return
    change.warn(
        f"{short_name(one)} is in {address(here)}, {short_name(other)} in {address(there)}, but "
        "a joint is in one place. Check both places; between two there is a cable or a cord."
    )


def _types(wanted: set[tuple[str, int | None]]) -> dict[tuple[str, int | None], CatalogueEntry]:
    """Return the catalogue's entry for each kind of joint with what was asked for it."""
    named = {entry for _kind, entry in wanted if entry is not None}
    known = existing_all(CatalogueEntry.objects, named, field="entry") if named else {}
    return {
        (kind, entry): default_entry(EntryKind(kind))
        if entry is None
        else _suited(kind, known[entry])
        for kind, entry in wanted
    }


def _suited(kind: str, entry: CatalogueEntry) -> CatalogueEntry:
    if entry.kind != kind:
        raise Malformed(
            f"{entry.name} is a {entry.kind} entry, not one for a {kind} joint.",
            hint="Choose an entry of the joint's kind.",
            field="entry",
        )
    return entry


def _housings(equipment: set[int]) -> dict[int, Equipment]:
    found = existing_all(Equipment.objects, equipment, field="stands_in") if equipment else {}
    for each in found.values():
        if each.kind not in HOUSES_JOINTS:
            raise Malformed(
                f"{each.name} is a {each.kind}; joints stand in a closure, panel or outlet.",
                hint="Choose the housing, or leave it empty.",
                field="stands_in",
            )
    return found


@verb
def part(change: OpenChange, joint: int) -> tuple[int, int]:
    """Part a joint and darken what it lit. Returns its two points. Raises: NotJoined."""
    ends = list(
        JointEnd.objects.filter(joint_id=joint)
        .order_by("side")
        .select_related(*(f"point__{each}" for each in STANDING))
    )
    if not ends:
        raise NotJoined(
            "There is no such joint any more.",
            hint="Look up one of its points to see what it is joined to now.",
            field="joint",
        )

    JointEnd.objects.filter(joint_id=joint).delete()
    with connection.cursor() as cursor:
        # Nothing else hangs from a joint, so Django's search for it would be two queries wasted.
        cursor.execute("DELETE FROM records_joint WHERE id = %s", [joint])
    a, b = (end.point for end in ends)
    _light.parted(change, a.pk, b.pk)
    change.say(f"parted {short_name(a)} from {short_name(b)}, {_where(a, b)}")
    return a.pk, b.pk


@verb
def patch(
    change: OpenChange,
    a: int,
    b: int,
    *,
    length_m: float = 2,
    name: str = "",
    entry: int | None = None,
) -> Joint:
    """Patch two ports: a cord and its two joints in one go.

    The cord gets at each end the connector that fits there; without a name it gets the next
    number. Returns the joint that completed the path. Raises: what `lay` and `join` raise.
    """
    (patched,) = _patch(change, [NewPatch(a=a, b=b, length_m=length_m, name=name, entry=entry)])
    one, other = patched.ends
    ends = f"{short_name(one)} to {short_name(other)}"
    change.say(f"patched {ends} with cord {patched.cord.name}, {_where(one, other)}")
    return patched.joint


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPatch:
    """Two ports to patch: see `patch`."""

    a: int
    b: int
    length_m: float = 2
    name: str = ""
    entry: int | None = None


class _Patched(NamedTuple):
    ends: tuple[Point, Point]
    cord: Cable
    joint: Joint


@for_many
def patch_all(change: OpenChange, wanted: Sequence[NewPatch]) -> list[Joint]:
    """Patch many pairs of ports. Raises: what `patch` raises."""
    return [patched.joint for patched in _patch(change, wanted)]


def _patch(change: OpenChange, wanted: Sequence[NewPatch]) -> list[_Patched]:
    pairs = free_pairs([(each.a, each.b) for each in wanted])
    places = [standing_places(pair) for pair in pairs]
    names = cord_names(
        [(a_place, each.name) for (a_place, _), each in zip(places, wanted, strict=True)]
    )
    cords = cables.lay_all(
        change,
        [
            cables.NewCable(
                name=name,
                a_place=a_place,
                b_place=b_place,
                length_m=each.length_m,
                kind=CableKind.CORD,
                entry=each.entry,
                a_polish=one.polish,
                b_polish=other.polish,
            )
            for each, name, (a_place, b_place), (one, other) in zip(
                wanted, names, places, pairs, strict=True
            )
        ],
    )
    ends = plugs(cords)
    joints = _make(
        change,
        [
            NewJoint(a=a, b=b, kind=JointKind.MATED)
            for (one, other), cord in zip(pairs, cords, strict=True)
            for a, b in ((one.pk, ends[cord.pk][0]), (ends[cord.pk][1], other.pk))
        ],
    )
    return [
        _Patched(pair, cord, new.joint)
        for pair, cord, new in zip(pairs, cords, joints[1::2], strict=True)
    ]


@verb
def measure(change: OpenChange, joint: int, *, loss_db: float) -> Joint:
    """Record the measured loss of a joint, which replaces the catalogue's. Raises: Malformed."""
    found = existing(Joint.objects, joint, field="joint")
    found.measured_mdb = loss_mdb(loss_db)

    Joint.objects.filter(pk=joint).update(measured_mdb=found.measured_mdb)
    ends = JointEnd.objects.filter(joint_id=joint).values_list("point_id", flat=True)
    _light.relight(change, _light.channels_at(ends))
    names = named_points(ends)
    change.say(f"measured {loss_db:g} dB between {' and '.join(names.values())}")
    return found


@verb
def unmeasure(change: OpenChange, joint: int) -> Joint:
    """Take back a joint's measured loss, so that its type's holds again. Raises: NotMeasured."""
    found = existing(Joint.objects, joint, field="joint")
    ends = JointEnd.objects.filter(joint_id=joint).values_list("point_id", flat=True)
    names = named_points(ends)
    refuse_unmeasured(found.measured_mdb, f"The joint of {' and '.join(names.values())}")

    Joint.objects.filter(pk=joint).update(measured_mdb=None)
    found.measured_mdb = None
    _light.relight(change, _light.channels_at(ends))
    change.say(f"took back the measured loss between {' and '.join(names.values())}")
    return found
