"""The record by names: what stands, ids aside, so that a thing brought anew equals the old one."""

from typing import Any

from records.models import Booking, Cable, Channel, Equipment, Feed, Joint, Passage, Place, Point
from records.queries.names import addresses

Told = dict[str, set[Any]]


def record_by_name() -> Told:
    """Return all that stands: places, things, joints, light and promises."""
    homes = addresses(Place.objects.all())
    spots = _spots(homes)
    ports = {pk: spots[pk] for pk in Channel.objects.values_list("point", flat=True)}
    channels = {
        each.pk: (ports[each.point_id], each.optical_class_id) for each in Channel.objects.all()
    }
    return {
        "places": {(homes[each.pk], each.kind) for each in Place.objects.filter(retired=False)},
        "equipment": {
            (homes[each.place_id], each.name, each.kind, each.serial, each.entry_id)
            for each in Equipment.objects.all()
        },
        "cables": {
            (
                homes[each.a_place_id],
                homes[each.b_place_id],
                each.name,
                each.kind,
                each.entry_id,
                each.fibre_count,
                each.length_cm,
                each.colour_scheme_id,
            )
            for each in Cable.objects.all()
        },
        "fibres": {
            (each.cable.name, each.number, each.length_cm, each.measured_mdb, each.damage)
            for each in Passage.objects.exclude(cable=None).select_related("cable")
            if each.cable
        },
        "points": {
            (spots[each.pk], each.polish, each.condition, each.barred_reason, each.measured_mdb)
            for each in Point.objects.all()
        },
        "joints": {_joint(each, spots) for each in Joint.objects.prefetch_related("ends")},
        "channels": {
            (channels[each.pk], each.launch_mdbm, channels.get(each.standby_for_id or 0))
            for each in Channel.objects.all()
        },
        "bookings": {
            (spots[each.leg_id], each.line.identifier, each.state)
            for each in Booking.objects.open().select_related("line")
        },
        "feeds": {
            (
                spots[each.point_id],
                channels[each.channel_id],
                spots.get(each.upstream_id),
                spots.get(each.leg_id),
                each.length_cm,
                each.split,
                each.down_least_mdb,
                each.down_most_mdb,
                each.up_typical_mdb,
            )
            for each in Feed.objects.all()
        },
    }


def _spots(homes: dict[int, str]) -> dict[int | None, Any]:
    found = Point.objects.select_related("equipment", "passage__cable")
    return {each.pk: (*_owner(each, homes), each.role, each.number) for each in found}


def _owner(point: Point, homes: dict[int, str]) -> tuple[str, str]:
    if point.equipment is not None:
        return homes[point.equipment.place_id], point.equipment.name
    assert point.passage
    assert point.passage.cable
    return homes[point.passage.cable.a_place_id], point.passage.cable.name


def _joint(joint: Joint, spots: dict[int | None, Any]) -> Any:
    ends = tuple(spots[end.point_id] for end in sorted(joint.ends.all(), key=lambda e: e.side))
    housing = joint.stands_in.name if joint.stands_in else None
    return ends, joint.kind, joint.entry_id, housing, joint.tray, joint.measured_mdb
