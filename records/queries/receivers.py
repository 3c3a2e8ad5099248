"""Where a home's light is received: its terminals, or its outlets while it has none."""

from collections.abc import Iterable
from typing import NamedTuple

from records.models import Equipment, Place, Role
from records.queries.engine import Row, ids, in_ids, rows
from records.queries.legs import after_all_inside
from records.queries.names import addresses
from records.queries.words import natural

_COLUMNS = """
SELECT DISTINCT port.id, port.role, equipment.name, equipment.place_id
"""
_RECEIVES = """
  AND ((port.role = 'terminal') OR (port.role = 'front' AND equipment.kind = 'outlet'))
"""
_IN_PLACE = f"""{_COLUMNS}
FROM records_place place
JOIN records_equipment equipment ON equipment.place_id = place.id
JOIN records_point port ON port.equipment_id = equipment.id
WHERE place.path >= %s AND place.path < %s
  AND EXISTS (SELECT 1 FROM records_feed feed WHERE feed.point_id = port.id)
{_RECEIVES}"""
_BELOW = f"""
WITH RECURSIVE beyond(point_id, channel_id) AS (
    SELECT feed.point_id, feed.channel_id FROM records_feed feed WHERE {{starts}}
    UNION
    SELECT feed.point_id, feed.channel_id
    FROM beyond JOIN records_feed feed
      ON feed.upstream_id = beyond.point_id AND feed.channel_id = beyond.channel_id
)
{_COLUMNS}
FROM beyond
JOIN records_point port ON port.id = beyond.point_id
JOIN records_equipment equipment ON equipment.id = port.equipment_id
WHERE 1 = 1
{_RECEIVES}"""


class Receiver(NamedTuple):
    """A lit terminal or outlet of a home."""

    point_id: int
    name: str
    place_id: int
    address: str


def receivers_in(place: Place) -> list[Receiver]:
    """Return where light is received in a place, by address."""
    return _receivers(rows(_IN_PLACE, [place.path, after_all_inside(place)]))


def receivers_below(equipment: Equipment) -> list[Receiver]:
    """Return where light that passes an equipment is received, by address."""
    ports = equipment.ports.values_list("pk", flat=True)
    return receivers_from(ports)


def receivers_from(point_ids: Iterable[int]) -> list[Receiver]:
    """Return where light that passes any of some points is received, by address."""
    return _receivers(rows(_BELOW.format(starts=in_ids("feed.point_id")), [ids(point_ids)]))


def _receivers(found: list[Row]) -> list[Receiver]:
    with_terminal = {place for _, role, _, place in found if role == Role.TERMINAL}
    chosen = [row for row in found if row[1] == Role.TERMINAL or row[3] not in with_terminal]
    known = addresses(Place.objects.filter(pk__in={row[3] for row in chosen}))
    listed = [Receiver(point, name, place, known[place]) for point, _, name, place in chosen]
    return sorted(listed, key=lambda each: (natural(each.address), each.name, each.point_id))
