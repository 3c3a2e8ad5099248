"""Who hangs below a thing: the terminals that go dark when it is cut."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.models import Cable, Equipment, Joint, Place, Point
from records.queries.engine import ids, in_ids, rows
from records.queries.names import addresses
from records.queries.words import natural

_BELOW = """
WITH RECURSIVE beyond(point_id, channel_id) AS (
    SELECT point_id, channel_id FROM records_feed WHERE {starts}
    UNION
    SELECT feed.point_id, feed.channel_id
    FROM beyond JOIN records_feed feed
      ON feed.upstream_id = beyond.point_id AND feed.channel_id = beyond.channel_id
)
SELECT port.id, equipment.id, equipment.name, equipment.serial, equipment.place_id,
       MIN(feed.leg_id), COUNT(*)
FROM beyond
JOIN records_point port ON port.id = beyond.point_id AND port.role = 'terminal'
JOIN records_equipment equipment ON equipment.id = port.equipment_id
JOIN records_feed feed
  ON feed.point_id = beyond.point_id AND feed.channel_id = beyond.channel_id
GROUP BY port.id, equipment.id, equipment.name, equipment.serial, equipment.place_id
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanging:
    """A terminal that is lit through a thing, and the dwelling it stands in.

    `channel_count` is by how many channels; `keeps_light` means another one reaches it by another
    way, such as a standby.
    """

    point_id: int
    equipment_id: int
    terminal: str
    serial: str
    place_id: int
    address: str
    leg_id: int | None
    channel_count: int
    keeps_light: bool


def below(point_ids: Iterable[int]) -> list[Hanging]:
    """Return the terminals whose light passes any of these points, by address."""
    sql = _BELOW.format(starts=in_ids("point_id"))
    found = rows(sql, [ids(point_ids)])
    places = addresses(Place.objects.filter(pk__in={row[4] for row in found}))
    channels = _channel_counts(row[0] for row in found)
    hanging = [
        Hanging(
            point_id=point,
            equipment_id=equipment,
            terminal=name,
            serial=serial,
            place_id=place,
            address=places[place],
            leg_id=leg,
            channel_count=lost,
            keeps_light=channels[point] > lost,
        )
        for point, equipment, name, serial, place, leg, lost in found
    ]
    return sorted(hanging, key=lambda each: natural(each.address))


def _channel_counts(point_ids: Iterable[int]) -> dict[int, int]:
    found = rows(
        f"""SELECT point_id, COUNT(*) FROM records_feed WHERE {in_ids("point_id")}
            GROUP BY point_id""",
        [ids(point_ids)],
    )
    return dict(found)


def points_of(thing: Point | Equipment | Cable | Joint) -> list[int]:
    """Return the points through which light passes a thing."""
    if isinstance(thing, Point):
        return [thing.pk]
    if isinstance(thing, Joint):
        return list(thing.ends.values_list("point_id", flat=True))
    if isinstance(thing, Equipment):
        return list(thing.ports.values_list("pk", flat=True))
    return list(Point.objects.filter(passage__cable=thing).values_list("pk", flat=True))


def points_of_fibre(cable: Cable, number: int) -> list[int]:
    """Return the two ends of one fibre of a cable."""
    ends = Point.objects.filter(passage__cable=cable, number=number)
    return list(ends.values_list("pk", flat=True))
