"""An equipment from inside: its ports, the joints it houses, the channels it sends."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.models import Channel, Equipment, JointKind, Role
from records.optics.levels import Level
from records.queries.engine import ids, in_ids, rows
from records.queries.levels import Lit, launch_of, lit_at, optical_classes
from records.queries.names import named_points

_PORTS = """
SELECT port.equipment_id, port.id, port.role, port.number, port.polish, near.joint_id, far.point_id
FROM records_point port
LEFT JOIN records_jointend near ON near.point_id = port.id
LEFT JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
WHERE {equipment} AND port.role <> 'leg'
ORDER BY port.equipment_id, port.number, port.side, port.id
"""

_JOINTS = """
SELECT joint.stands_in_id, joint.id, joint.kind, joint.tray, joint.measured_mdb, entry.name,
       one.point_id, other.point_id
FROM records_joint joint
JOIN records_catalogueentry entry ON entry.id = joint.entry_id
JOIN records_jointend one ON one.joint_id = joint.id AND one.side = 1
JOIN records_jointend other ON other.joint_id = joint.id AND other.side = 2
WHERE {equipment}
ORDER BY joint.stands_in_id, joint.tray, joint.id
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PortOf:
    """A port that is not a splitter leg, what it is joined to, and its light."""

    point_id: int
    role: str
    number: int
    polish: str
    joint_id: int | None
    joined_to_id: int | None
    joined_to: str
    lit: tuple[Lit, ...]

    @property
    def label(self) -> str:
        """Return what is printed beside the port."""
        return f"{Role(self.role).label} {self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointIn:
    """A joint that an equipment houses, with the names of its two points."""

    joint_id: int
    kind: str
    tray: str
    entry: str
    measured_loss_db: float | None
    one_id: int
    one: str
    other_id: int
    other: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelAt:
    """A channel lit at a PON port and the level it is launched with."""

    channel: Channel
    launch: Level

    @property
    def is_measured(self) -> bool:
        """Tell whether the launch was measured at that very port."""
        return self.channel.launch_mdbm is not None


def ports(equipment: Equipment) -> list[PortOf]:
    """Return the ports in order, splitter legs left out, with a fixed number of queries."""
    return ports_of([equipment.pk]).get(equipment.pk, [])


def ports_of(equipment_ids: Iterable[int]) -> dict[int, list[PortOf]]:
    """Return the ports of many equipment, as `ports` does, with the same number of queries."""
    found = rows(_PORTS.format(equipment=in_ids("port.equipment_id")), [ids(equipment_ids)])
    names = named_points(row[6] for row in found if row[6])
    light: dict[int, list[Lit]] = {}
    for each in lit_at(row[1] for row in found):
        light.setdefault(each.point_id, []).append(each)
    by_equipment: dict[int, list[PortOf]] = {}
    for equipment, point, role, number, polish, joint, far in found:
        by_equipment.setdefault(equipment, []).append(
            PortOf(
                point_id=point,
                role=role,
                number=number,
                polish=polish,
                joint_id=joint,
                joined_to_id=far,
                joined_to=names.get(far, ""),
                lit=tuple(light.get(point, ())),
            )
        )
    return by_equipment


def joints_in(equipment: Equipment) -> list[JointIn]:
    """Return the joints that an equipment houses, by tray, with a fixed number of queries."""
    return joints_in_each([equipment.pk]).get(equipment.pk, [])


def joints_in_each(equipment_ids: Iterable[int]) -> dict[int, list[JointIn]]:
    """Return the joints that many equipment house, with the same number of queries."""
    found = rows(_JOINTS.format(equipment=in_ids("joint.stands_in_id")), [ids(equipment_ids)])
    names = named_points(point for row in found for point in row[6:8])
    by_equipment: dict[int, list[JointIn]] = {}
    for equipment, joint, kind, tray, measured_mdb, entry, one, other in found:
        by_equipment.setdefault(equipment, []).append(
            JointIn(
                joint_id=joint,
                kind=JointKind(kind).label,
                tray=tray,
                measured_loss_db=None if measured_mdb is None else measured_mdb / 1000,
                entry=entry,
                one_id=one,
                one=names[one],
                other_id=other,
                other=names[other],
            )
        )
    return by_equipment


def channels_at(equipment: Equipment) -> dict[int, list[ChannelAt]]:
    """Return the channels of an OLT by the point they are lit at."""
    found = (
        Channel.objects.filter(point__equipment=equipment)
        .select_related("optical_class", "standby_for__point__equipment")
        .order_by("point", "standby_for", "pk")
    )
    classes = optical_classes(channel.optical_class_id for channel in found)
    by_point: dict[int, list[ChannelAt]] = {}
    for channel in found:
        launch = launch_of(classes[channel.optical_class_id], channel.launch_mdbm)
        by_point.setdefault(channel.point_id, []).append(ChannelAt(channel=channel, launch=launch))
    return by_point
