"""What suspects are called: by the port, splice, fibre or cable that a crew would go to."""

from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

from records.light.stretches import Step
from records.models import Joint, Point
from records.queries._tree_steps import TreeSteps, Where
from records.queries.names import addresses, names_of

WHOLE_EQUIPMENT = frozenset({"splitter", "device"})


class Named(NamedTuple):
    """The name of a step; of a fibre also its cable and number."""

    name: str
    cable: str = ""
    fibre: int = 0


class FaultNames(NamedTuple):
    """What suspects are called by their steps, and by their ids the points that were read."""

    suspects: dict[int, Named]
    points: dict[int, str]


class _Read(NamedTuple):
    """Points, their names, the addresses of their places, and joints, all by id."""

    points: dict[int, Point]
    names: dict[int, str]
    addresses: dict[int, str]
    joints: dict[int, Joint]


def fault_names(tree: TreeSteps, steps: Iterable[int], read_points: Iterable[int]) -> FaultNames:
    """Return the names of some steps and points, with three queries."""
    where = {step: tree.where[step] for step in sorted(set(steps))}
    read = _read(where.values(), read_points)
    suspects = {step: _name(tree.steps[step], at, read) for step, at in where.items()}
    return FaultNames(suspects, read.names)


def _read(where: Collection[Where], read_points: Iterable[int]) -> _Read:
    ids = {point for each in where for point in (each.point_id, each.upper_id) if point}
    found = Point.objects.filter(pk__in=ids | set(read_points))
    points = {each.pk: each for each in found.select_related("equipment__place", "passage__cable")}
    known = addresses({each.equipment.place for each in points.values() if each.equipment})
    joints = Joint.objects.select_related("stands_in").in_bulk(
        {each.joint_id for each in where if each.joint_id}
    )
    return _Read(points, names_of(points.values(), known), known, joints)


def of_one_cable(named: Sequence[Named]) -> Named:
    """Return the name of several fibres of one cable, which a crew takes as one thing."""
    numbers = ", ".join(str(number) for number in sorted(each.fibre for each in named))
    return Named(f"cable {named[0].cable} (fibres {numbers})")


def _name(step: Step, at: Where, read: _Read) -> Named:
    point = read.points[at.point_id]
    if step.kind in WHOLE_EQUIPMENT and point.equipment:
        return Named(f"{point.equipment.name} ({read.addresses[point.equipment.place_id]})")
    if step.kind == "fibre" and point.passage and point.passage.cable:
        cable, number = point.passage.cable.name, point.passage.number
        return Named(f"fibre {number} of {cable}", cable, number)
    if step.kind in {"launch", "leg", "adapter"} or at.upper_id is None:
        return Named(read.names[at.point_id])
    return Named(_joint_name(at, read))


def _joint_name(at: Where, read: _Read) -> str:
    """Return the port a joint is at, else both its fibre ends, and where it is housed."""
    both = [point for point in (at.point_id, at.upper_id) if point is not None]
    ports = [point for point in both if read.points[point].equipment_id]
    name = read.names[ports[0]] if ports else " to ".join(read.names[each] for each in both)
    joint = read.joints.get(at.joint_id or 0)
    if joint is None or joint.stands_in is None or ports:
        return name
    tray = f"tray {joint.tray} of " if joint.tray else ""
    return f"{name}, in {tray}{joint.stands_in.name}"
