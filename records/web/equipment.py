"""An equipment: a splitter's legs, a panel's adapters, an OLT's ports, a closure's joints."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.models import Equipment, EquipmentKind
from records.queries.equipment import ChannelAt, PortOf, channels_at, joints_in, ports
from records.queries.legs import LegCounts, leg_counts, legs
from records.queries.pon_trees import PonTree, pon_trees
from records.queries.readings import Judged, latest_readings, with_last_good
from records.queries.tags import tags_on
from records.web import actions, crumbs
from records.web.past import as_asked

_HOUSES_JOINTS = (EquipmentKind.CLOSURE, EquipmentKind.PANEL, EquipmentKind.OUTLET)


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter:
    """A numbered place on a panel or outlet with its back and its front."""

    number: int
    back: PortOf
    front: PortOf


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """A channel that a port sends, and the tree that hangs from it."""

    at: ChannelAt
    tree: PonTree


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """A port with the channels lit at it, if it is an OLT's."""

    at: PortOf
    channels: tuple[Sent, ...]


@as_asked
def equipment_page(request: HttpRequest, equipment_id: int) -> HttpResponse:
    """Show an equipment."""
    equipment = (
        Equipment.objects.select_related("place", "entry", "optical_class")
        .filter(pk=equipment_id)
        .first()
    )
    if equipment is None:
        raise Http404("There is no such equipment. It may have been removed; find it again.")
    own_ports = ports(equipment)
    by_face = equipment.kind in {EquipmentKind.PANEL, EquipmentKind.OUTLET}
    is_splitter = equipment.kind == EquipmentKind.SPLITTER
    context = {
        "equipment": equipment,
        "crumbs": crumbs.down_to(equipment.place),
        "adapters": list(_adapters(own_ports)) if by_face else [],
        "ports": [] if by_face else list(_ports(equipment, own_ports)),
        "legs": legs(equipment) if is_splitter else [],
        "counts": leg_counts([equipment.pk]).get(equipment.pk, LegCounts()),
        "joints": joints_in(equipment) if equipment.kind in _HOUSES_JOINTS else [],
        "is_terminal": equipment.kind == EquipmentKind.TERMINAL,
        "readings": _readings(equipment, own_ports),
        "actions": list(actions.on_equipment(equipment)),
        "tags": tags_on("equipment", equipment_id),
    }
    return render(request, "records/equipment.html", context)


def _adapters(own_ports: Iterable[PortOf]) -> Iterable[Adapter]:
    faces: dict[int, dict[str, PortOf]] = {}
    for port in own_ports:
        faces.setdefault(port.number, {})[port.role] = port
    for number, by_role in faces.items():
        yield Adapter(number=number, back=by_role["back"], front=by_role["front"])


def _ports(equipment: Equipment, own_ports: Iterable[PortOf]) -> Iterable[Port]:
    channels = channels_at(equipment) if equipment.kind == EquipmentKind.OLT else {}
    sent = [each.channel.pk for of_port in channels.values() for each in of_port]
    trees = {tree.channel_id: tree for tree in pon_trees(sent)} if sent else {}
    for port in own_ports:
        of_port = channels.get(port.point_id, ())
        yield Port(
            at=port,
            channels=tuple(Sent(at=each, tree=trees[each.channel.pk]) for each in of_port),
        )


def _readings(equipment: Equipment, own_ports: Iterable[PortOf]) -> list[Judged]:
    if equipment.kind not in {EquipmentKind.TERMINAL, EquipmentKind.OUTLET}:
        return []
    return with_last_good(latest_readings(port.point_id for port in own_ports))
