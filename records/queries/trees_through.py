"""The trees that light up a thing: the channels of the PON ports it hangs from."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.models import Cable, Equipment, Place, Point
from records.optics.classes import OpticalClass
from records.queries.below import points_of
from records.queries.engine import ids, in_ids, rows
from records.queries.legs import after_all_inside
from records.queries.levels import optical_classes
from records.queries.names import named_points

_THROUGH = """
SELECT id, point_id, optical_class_id, standby_for_id IS NOT NULL
FROM records_channel
WHERE id IN (SELECT channel_id FROM records_feed WHERE {points})
ORDER BY 4, 1
"""
_IN_PLACE = """
SELECT port.id FROM records_place place
JOIN records_equipment equipment ON equipment.place_id = place.id
JOIN records_point port ON port.equipment_id = equipment.id
WHERE place.path >= %s AND place.path < %s
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """A channel and the PON port it is lit at, in words."""

    channel_id: int
    port_id: int
    port: str
    channel: str


def trees_through(thing: Point | Equipment | Cable | Place) -> list[Tree]:
    """Return the trees whose light comes to a thing or into a place, main channels first."""
    if isinstance(thing, Place):
        limits = [thing.path, after_all_inside(thing)]
        return _trees(point for (point,) in rows(_IN_PLACE, limits))
    return _trees(points_of(thing))


def _trees(point_ids: Iterable[int]) -> list[Tree]:
    found = rows(_THROUGH.format(points=in_ids("point_id")), [ids(point_ids)])
    names = named_points(port for _, port, *_ in found)
    classes = optical_classes(class_id for _, _, class_id, _ in found)
    return [
        Tree(
            channel_id=channel,
            port_id=port,
            port=names[port].partition(" (")[0],
            channel=_name(classes[class_id], is_standby=bool(is_standby)),
        )
        for channel, port, class_id, is_standby in found
    ]


def _name(of_class: OpticalClass, *, is_standby: bool) -> str:
    return f"{of_class.system} {of_class.name}{', standby' if is_standby else ''}"
