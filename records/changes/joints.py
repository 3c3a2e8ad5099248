"""Verbs for joints: join, part, patch, measure, unmeasure."""

from collections.abc import Sequence

from django.db import connection

from records.changes import _light, cables
from records.changes._checks import choice, existing, loss_mdb, refuse_unmeasured, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Missing, Refusal
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
    Polish,
    Role,
)
from records.queries.catalogue import default_entry
from records.queries.names import address, named_points, short_name

HOUSES_JOINTS = (EquipmentKind.CLOSURE, EquipmentKind.PANEL, EquipmentKind.OUTLET)
SENDERS = (Role.PON, Role.LEG)
_STANDING = ("equipment__place", "passage__cable__a_place", "passage__cable__b_place")
"""What tells of a point what it belongs to and where that is."""


class PointJoined(Refusal):
    """A point that is already part of a joint."""

    code = "point_joined"


class SamePoint(Refusal):
    """A point joined to itself, or a fibre or adapter to its own other side."""

    code = "same_point"
    status = 422


class WrongPolish(Refusal):
    """An angled connector on a straight one."""

    code = "wrong_polish"
    status = 422


class BareEnd(Refusal):
    """Connectors that can't be spliced, or bare ends that can't be mated."""

    code = "bare_end"
    status = 422


class BothSend(Refusal):
    """Two points that both only send light down."""

    code = "both_send"
    status = 422


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
    choice(kind, JointKind.values, field="kind")
    one, other = _free_points(a, b)
    _refuse_ends_that_do_not_fit(one, other, kind)
    if one.role in SENDERS and other.role in SENDERS:
        raise BothSend(
            f"{short_name(one)} and {short_name(other)} both send light down.",
            hint="One of the two must be an input, an adapter or a fibre end.",
            field="b",
            subjects=(a, b),
        )

    joint = Joint.objects.create(
        kind=kind,
        entry=_entry(kind, entry),
        stands_in=_housing(stands_in),
        tray=text(tray, 20, field="tray"),
        measured_mdb=loss_mdb(loss_db),
    )
    JointEnd.objects.bulk_create(
        [JointEnd(point=point, joint=joint, side=side) for side, point in ((1, one), (2, other))]
    )
    _light.joined(change, joint, one, other)
    _warn_if_apart(change, one, other)
    change.say(f"joined {short_name(one)} to {short_name(other)}, {_where(one, other)}")
    return joint


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


def _free_points(a: int, b: int) -> tuple[Point, Point]:
    if a == b:
        raise SamePoint("A point can't be joined to itself.", hint="Choose two points.", field="b")
    found = Point.objects.select_related(*_STANDING, "joint_end").in_bulk([a, b])
    for pk, field in ((a, "a"), (b, "b")):
        if pk not in found:
            raise Missing(
                f"There is no point number {pk}.",
                hint="It may have been removed; find it again.",
                field=field,
            )
    for pk, field in ((a, "a"), (b, "b")):
        _refuse_joined(found[pk], field)
    return found[a], found[b]


def _refuse_joined(point: Point, field: str) -> None:
    if not hasattr(point, "joint_end"):
        return
    mate = JointEnd.objects.filter(joint_id=point.joint_end.joint_id).exclude(point=point).get()
    names = named_points((point.pk, mate.point_id))
    raise PointJoined(
        f"{names[point.pk]} is already joined to {names[mate.point_id]}.",
        hint="Part that joint first, or choose another point.",
        field=field,
        subjects=(point.pk, mate.point_id),
    )


def _refuse_ends_that_do_not_fit(one: Point, other: Point, kind: str) -> None:
    if kind == JointKind.MATED:
        _refuse_plugs_that_do_not_mate(one, other)
        return
    for point, field in ((one, "a"), (other, "b")):
        if point.polish:
            raise BareEnd(
                f"{short_name(point)} has a connector ({point.polish}) and can't be spliced.",
                hint="Mate it, or record a bare end if the connector was cut off.",
                field=field,
                subjects=(point.pk,),
            )


def _refuse_plugs_that_do_not_mate(one: Point, other: Point) -> None:
    for point, field in ((one, "a"), (other, "b")):
        if not point.polish:
            raise BareEnd(
                f"{short_name(point)} is a bare end and can't be mated.",
                hint="Splice it (fusion or mechanical), or splice a pigtail on first.",
                field=field,
                subjects=(point.pk,),
            )
    if (one.polish == Polish.APC) != (other.polish == Polish.APC):
        raise WrongPolish(
            f"{short_name(one)} is {one.polish}, {short_name(other)} is {other.polish}: an angled "
            "connector on a straight one loses light, reflects and can mark both end faces.",
            hint="Use a cord with the right connector at each end.",
            field="b",
            subjects=(one.pk, other.pk),
        )


def _entry(kind: str, entry: int | None) -> CatalogueEntry:
    if entry is None:
        return default_entry(EntryKind(kind))
    found = existing(CatalogueEntry.objects, entry, field="entry")
    if found.kind != kind:
        raise Malformed(
            f"{found.name} is a {found.kind} entry, not one for a {kind} joint.",
            hint="Choose an entry of the joint's kind.",
            field="entry",
        )
    return found


def _housing(equipment: int | None) -> Equipment | None:
    if equipment is None:
        return None
    found = existing(Equipment.objects, equipment, field="stands_in")
    if found.kind not in HOUSES_JOINTS:
        raise Malformed(
            f"{found.name} is a {found.kind}; joints stand in a closure, panel or outlet.",
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
        .select_related(*(f"point__{each}" for each in _STANDING))
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
    one, other = _free_points(a, b)
    a_place, b_place = _standing_places([one, other])
    cord = cables.lay(
        change,
        name=name or _next_cord_name(a_place),
        a_place=a_place,
        b_place=b_place,
        length_m=length_m,
        kind=CableKind.CORD,
        entry=entry,
        a_polish=one.polish,
        b_polish=other.polish,
    )
    a_end, b_end = (
        Point.objects.filter(passage__cable=cord).order_by("side").values_list("pk", flat=True)
    )
    join(change, a, a_end, kind=JointKind.MATED)
    joint = join(change, b_end, b, kind=JointKind.MATED)
    ends = f"{short_name(one)} to {short_name(other)}"
    change.say(f"patched {ends} with cord {cord.name}, {_where(one, other)}")
    return joint


def _standing_places(points: Sequence[Point]) -> list[int]:
    for point, field in zip(points, ("a", "b"), strict=True):
        if point.equipment is None:
            raise Malformed(
                f"{short_name(point)} is a fibre end; a cord goes between two ports.",
                hint="Join the fibre end itself instead.",
                field=field,
            )
    return [point.equipment.place_id for point in points if point.equipment is not None]


def _next_cord_name(a_place: int) -> str:
    """Return the next free number for a cord that starts in a place."""
    there = Cable.objects.filter(a_place=a_place, name__istartswith="CORD ")
    taken = {name.upper() for name in there.values_list("name", flat=True)}
    number = len(taken) + 1
    while f"CORD {number}" in taken:
        number += 1
    return f"CORD {number}"


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
