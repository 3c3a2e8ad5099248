"""Verbs that put a new equipment in the place of an old one: swap.

The new thing has its own identity: its serial, its history, its tags. From the old one it takes
over what hangs on each port, by role and number: joints, bookings, bars, channels.
"""

from typing import Any

from records.changes import _feeds, equipment
from records.changes._checks import existing, text
from records.changes._rejoining import Loose, put_on, take_off
from records.changes._transaction import OpenChange, verb
from records.changes.bookings import rebook
from records.changes.refusals import Refusal
from records.light.spread import source
from records.models import (
    Booking,
    Channel,
    Equipment,
    EquipmentKind,
    Joint,
    LegCondition,
    Point,
    Role,
)
from records.queries.catalogue import light_channels
from records.queries.names import equipment_name, port_label
from records.queries.words import counted

_BY_COUNT = (EquipmentKind.OLT, EquipmentKind.TERMINAL)
_BY_PAIRS = (EquipmentKind.PANEL, EquipmentKind.OUTLET, EquipmentKind.ATTENUATOR)
_LIGHT_COMES_BY = (Role.PON, Role.INPUT, Role.COMMON, Role.BACK)


class PortLacking(Refusal):
    """A swap for a thing that lacks a port which is in use on the old one."""

    code = "port_lacking"


@verb
def swap(
    change: OpenChange,
    equipment: int,
    *,
    name: str = "",
    serial: str = "",
    entry: int | None = None,
    ports: int | None = None,
    polish: str | None = None,
    optical_class: int | None = None,
) -> Equipment:
    """Put a new equipment in the place of an old one, such as a larger splitter.

    What is not given is as on the old one, but for the serial. What hangs on a port moves to the
    same port of the new one; a booking stays the same booking. Measured losses and readings were
    the old one's; its tags are void. Raises: Missing, PortLacking, and what `install` and
    `joints.join` raise.
    """
    old = existing(Equipment.objects.select_related("place"), equipment, field="equipment")
    before = list(old.ports.order_by("pk"))
    wanted = text(name, 60, field="name") or old.name
    told = {"entry": entry, "ports": ports, "polish": polish, "optical_class": optical_class}
    given = {name: value for name, value in told.items() if value is not None}
    new = _install(change, old, before, {"serial": serial, **given})
    pairs = _paired(old, before, new)

    loose = {port.pk: take_off(change, port.pk) for port, _ in sorted(pairs, key=_lit_side)}
    _take_over(change, pairs)
    moved = _put_on(change, pairs, loose)
    for port, heir in pairs:
        if port.role == Role.TERMINAL:
            change.inherit(port.pk, heir.pk)
    Joint.objects.filter(stands_in=old).update(stands_in=new)
    _rename(change, old, new, wanted)
    change.say(
        f"swapped {equipment_name(old)} for a new {new.entry or new.get_kind_display()}, which "
        f"took over {counted(moved, 'joint')}; the tags of the old one are void"
    )
    return new


def _install(
    change: OpenChange, old: Equipment, before: list[Point], given: dict[str, Any]
) -> Equipment:
    as_before = {
        "entry": old.entry_id,
        "ports": _count(old, before),
        "polish": next((port.polish for port in before if port.role != Role.BACK), ""),
        "back_polish": next((port.polish for port in before if port.role == Role.BACK), None),
        "optical_class": old.optical_class_id,
    }
    return equipment.install(
        change,
        kind=old.kind,
        place=old.place_id,
        name=f"{old.pk} in change {change.number}",  # until the old one has left its name
        **{**as_before, **given},
    )


def _count(old: Equipment, before: list[Point]) -> int:
    if old.kind in _BY_COUNT:
        return len(before)
    return sum(1 for port in before if port.role == Role.BACK) if old.kind in _BY_PAIRS else 1


def _paired(old: Equipment, before: list[Point], new: Equipment) -> list[tuple[Point, Point]]:
    """Return each port of the old one with its successor. Raises: PortLacking."""
    after = {(port.role, port.number): port for port in new.ports.all()}
    used = _in_use(old)
    lacking = [port for port in before if (port.role, port.number) not in after]
    for port in lacking:
        if port.pk in used or port.barred_reason:
            raise PortLacking(
                f"{port_label(port)} of {equipment_name(old)} is in use, and the new one has "
                "none of that number.",
                hint="Choose one with as many ports, or move what hangs on that one first.",
                field="entry",
                subjects=(port.pk,),
            )
    kept = [port for port in before if port not in lacking]
    return [(port, after[port.role, port.number]) for port in kept]


def _in_use(old: Equipment) -> set[int]:
    ports = old.ports.all()
    joined = ports.filter(joint_end__isnull=False).values_list("pk", flat=True)
    booked = Booking.objects.open().filter(leg__in=ports).values_list("leg_id", flat=True)
    channels = Channel.objects.filter(point__in=ports).values_list("point_id", flat=True)
    return {*joined, *booked, *channels}


def _lit_side(pair: tuple[Point, Point]) -> bool:
    """Sort what light comes by first: once that is parted, the rest is dark and cheap to part."""
    return pair[0].role not in _LIGHT_COMES_BY


def _take_over(change: OpenChange, pairs: list[tuple[Point, Point]]) -> None:
    """Let bookings, bars and channels go over to the new ports, while all is dark."""
    successor = {old.pk: new for old, new in pairs}
    open_bookings = Booking.objects.open().select_related("line", "leg")
    for booking in open_bookings.filter(leg__in=successor):
        rebook(change, booking, successor[booking.leg_id])
    for old, new in pairs:
        if old.barred_reason:
            Point.objects.filter(pk=new.pk).update(
                barred_reason=old.barred_reason, condition=LegCondition.BARRED
            )
    for channel in Channel.objects.filter(point__in=successor):
        _feeds.erase(change, [(channel.point_id, channel.pk)])
        port = successor[channel.point_id]
        Channel.objects.filter(pk=channel.pk).update(point=port, launch_mdbm=None)
        _feeds.write(change, [source(light_channels([channel.pk])[channel.pk])])


def _put_on(
    change: OpenChange, pairs: list[tuple[Point, Point]], loose: dict[int, Loose | None]
) -> int:
    successor = {old.pk: new.pk for old, new in pairs}
    moved = 0
    for old, new in sorted(pairs, key=_lit_side, reverse=True):
        hung = loose[old.pk]
        if hung is not None:
            # A cord may lead from one port of the old thing to another of the same.
            mate = successor.get(hung.mate, hung.mate)
            put_on(change, hung._replace(mate=mate), new.pk)
            moved += 1
    return moved


def _rename(change: OpenChange, old: Equipment, new: Equipment, name: str) -> None:
    equipment.remove(change, old.pk)
    renamed = equipment.rename(change, new.pk, name=name)
    new.name = renamed.name
