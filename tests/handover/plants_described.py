"""A building in words that don't depend on its numbers in the record, to compare two of them."""

from collections import Counter

from records.models import CableKind, Feed, Place, Reading
from records.queries.plant_inside import plant_inside

UP_FROM_BUILDING = 2
"""Places around the things of a building: its estate, and itself."""


class Described:
    """The places, equipment, cables, joints, bookings, light and readings of a building."""

    def __init__(self, building: Place, *, serial_prefix: str = "") -> None:
        self.plant = plant_inside(building)
        self.prefix = serial_prefix

    def everything(self):
        """Return all of it, by kind, each as a bag."""
        return {
            "places": self.places(),
            "equipment": self.equipment(),
            "ports": self.ports(),
            "cables": self.cables(),
            "fibres": self.fibres(),
            "joints": self.joints(),
            "bookings": self.bookings(),
            "feeds": self.feeds(),
            "readings": self.readings(),
        }

    def where(self, place):
        around = self.plant.places_around(place)[UP_FROM_BUILDING:]
        is_inside = place.pk in self.plant.places
        return tuple(each.name for each in around) if is_inside else ("outside",)

    def point(self, point_id):
        point = self.plant.points[point_id]
        owner = self.plant.owner(point)
        if owner is not None:
            return (*self.where(owner.place), owner.name, point.role, point.number)
        cable = self.plant.cable_of(point) or point.cable
        return (*self.where(cable.a_place), cable.name, point.role, point.number)

    def places(self):
        return Counter(
            (self.where(each), each.kind, each.storey)
            for each in self.plant.places.values()
            if each.pk != self.plant.place.pk
        )

    def equipment(self):
        return Counter(
            (
                self.where(each.place),
                each.kind,
                each.name,
                each.serial.removeprefix(self.prefix),
                str(each.entry),
                str(each.optical_class),
            )
            for each in self.plant.equipment.values()
        )

    def ports(self):
        return Counter(
            (self.point(each.pk), each.polish, each.condition, each.measured_mdb)
            for each in self.plant.points.values()
            if each.equipment_id in self.plant.equipment
        )

    def cables(self):
        return Counter(
            (
                each.kind,
                each.name,
                self.where(each.a_place),
                self.where(each.b_place),
                each.entry.name,
                str(each.colour_scheme),
                each.fibre_count,
                each.length_cm,
            )
            for each in self.plant.cables.values()
        )

    def fibres(self):
        cables = self.plant.cables
        return Counter(
            (
                cables[each.cable_id or 0].name,
                self.where(cables[each.cable_id or 0].a_place),
                each.number,
                each.length_cm,
                each.damage,
            )
            for each in self.plant.fibres.values()
        )

    def joints(self):
        found = set()
        for point_id, joined in self.plant.joined.items():
            ends = frozenset((self.point(point_id), self.point(joined.point_id)))
            found.add((ends, joined.kind, joined.entry, joined.tray, joined.stands_in_id is None))
        return found

    def bookings(self):
        return Counter(
            (self.point(each.leg_id), self.where(each.line.place), each.state)
            for each in self.plant.bookings.values()
        )

    def feeds(self):
        inside = [pk for pk, each in self.plant.points.items() if self._is_inside(each)]
        return Counter(
            (
                self.point(each.point_id),
                str(each.channel.optical_class),
                each.length_cm,
                each.split,
                (each.down_least_mdb, each.down_typical_mdb, each.down_most_mdb),
                (each.up_least_mdb, each.up_typical_mdb, each.up_most_mdb),
            )
            for each in Feed.objects.filter(point__in=inside).select_related(
                "channel__optical_class"
            )
        )

    def _is_inside(self, point):
        cable = self.plant.cable_of(point)
        is_feeder = cable is not None and cable.kind == CableKind.CORD
        return point.equipment_id in self.plant.equipment or not (cable is None or is_feeder)

    def readings(self):
        return Counter(
            (self.point(each.point_id), each.wavelength_nm, each.level_mdbm, each.note)
            for each in Reading.objects.filter(point__in=self.plant.points)
        )
