"""Light that points had once, and the change by which it went."""

from collections.abc import Iterable
from dataclasses import dataclass

from records.queries.engine import ids, in_ids, rows
from records.queries.moment import number_asked


@dataclass(frozen=True, slots=True, kw_only=True)
class GoneLight:
    """A band of light one way that a point had; `until` is the change that last ended it.

    Light that was only altered counts as ended too.
    """

    direction: str
    wavelength_min_nm: float
    wavelength_max_nm: float
    until: int


def gone_light(point_ids: Iterable[int]) -> dict[int, list[GoneLight]]:
    """Return the light that each of some points had, with one query."""
    found = rows(
        f"""SELECT feed.point_id, way.direction, way.wavelength_min_nm, way.wavelength_max_nm,
                   max(feed.until)
            FROM records_feed_history feed
            JOIN records_channel_history channel ON channel.id = feed.channel_id
             AND channel.since <= feed.since AND channel.until > feed.since
            JOIN records_classdirection way
              ON way.optical_class_id = channel.optical_class_id
            WHERE {in_ids("feed.point_id")} AND feed.since < feed.until AND feed.until <= %s
            GROUP BY feed.point_id, way.direction, way.wavelength_min_nm, way.wavelength_max_nm""",
        [ids(point_ids), number_asked()],
    )
    light: dict[int, list[GoneLight]] = {}
    for point, direction, least_nm, most_nm, until in found:
        band = GoneLight(
            direction=direction,
            wavelength_min_nm=least_nm,
            wavelength_max_nm=most_nm,
            until=until,
        )
        light.setdefault(point, []).append(band)
    return light
