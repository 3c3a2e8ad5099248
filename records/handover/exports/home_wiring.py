"""How each home of a place is wired, as far as it is wired in the one plain way.

Plain is: a leg, one fibre of one cable, the back of an outlet, its front, a home terminal. What
else there is on a way (panels, closures, couplers, cords at the leg) is not plain.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from records.models import (
    Booking,
    Cable,
    CableKind,
    Equipment,
    EquipmentKind,
    Passage,
    Place,
    PlaceKind,
    Point,
    Role,
)
from records.queries.plant_inside import Joined, PlantInside, homes_fittings, ports_by


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """The fibre that leads to an outlet: its joint at the outlet, and at a leg if it has one."""

    cable: Cable
    fibre: Passage
    splice: Joined
    leg: Point | None
    leg_joint: Joined | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A home terminal at an outlet: the cord between them and its two joints."""

    terminal: Equipment
    port: Point
    cord: Cable
    joints: tuple[Joined, Joined]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """A home, the leg booked for it, and its plain way; None where it has no such thing."""

    home: Place
    booking: Booking | None
    leg: Point | None
    outlet: Equipment | None
    front: Point | None
    drop: Drop | None
    patch: Patch | None


class Wirings:
    """Finds how homes are wired."""

    def __init__(self, plant: PlantInside) -> None:
        """Sort the plant by what belongs together."""
        self._plant = plant
        self._fittings = homes_fittings(plant)
        sides = (Role.BACK, Role.FRONT, Role.TERMINAL)
        self._ports = ports_by(plant, lambda each: each.equipment_id, sides)
        self._ends = ports_by(plant, lambda each: each.passage_id, (Role.A_END, Role.B_END))
        self._booked: dict[int, list[Booking]] = {}
        for booking in plant.bookings.values():
            self._booked.setdefault(booking.line.place_id, []).append(booking)

    def of(self, home: Place) -> Wiring:
        """Return how a home is wired.

        A leg that is booked and another that is joined can't stand in one row, so the way through
        a booked leg goes first, then a way that no booking belongs to, then a booking alone.
        """
        booked = {each.leg_id: each for each in self._booked.get(home.pk, ())}
        ways = [(outlet, drop) for outlet in self._outlets(home) if (drop := self._drop(outlet))]
        for outlet, drop in ways:
            if drop.leg is not None and drop.leg.pk in booked and self._begins_at_leg(drop):
                return self._wired(home, booked[drop.leg.pk], outlet, drop)
        for outlet, drop in ways:
            if not booked and drop.cable.a_place.kind == PlaceKind.CUPBOARD:
                return self._wired(home, None, outlet, drop)
        first = next(iter(booked.values()), None)
        return self._booked_only(home, first)

    def _begins_at_leg(self, drop: Drop) -> bool:
        """Tell whether a cable begins where the splitter of its leg stands."""
        splitter = self._plant.owner(drop.leg) if drop.leg else None
        return splitter is not None and splitter.place_id == drop.cable.a_place_id

    def _booked_only(self, home: Place, booking: Booking | None) -> Wiring:
        leg = self._plant.points.get(booking.leg_id) if booking else None
        return Wiring(
            home=home, booking=booking, leg=leg, outlet=None, front=None, drop=None, patch=None
        )

    def _wired(
        self, home: Place, booking: Booking | None, outlet: Equipment, drop: Drop
    ) -> Wiring:
        front = self._port(outlet, Role.FRONT)
        return Wiring(
            home=home,
            booking=booking,
            leg=drop.leg if booking else None,
            outlet=outlet,
            front=front,
            drop=drop,
            patch=self._patch(home, front),
        )

    def _outlets(self, home: Place) -> Iterable[Equipment]:
        fittings = self._fittings.get(home.pk, ())
        return (each for each in fittings if each.kind == EquipmentKind.OUTLET)

    def _port(self, equipment: Equipment, role: Role) -> Point | None:
        """Return the first port of a role."""
        return next((e for e in self._ports.get(equipment.pk, ()) if e.role == role), None)

    def _drop(self, outlet: Equipment) -> Drop | None:
        back = self._port(outlet, Role.BACK)
        end = self._plant.mate(back.pk) if back else None
        if back is None or end is None or end.role != Role.B_END:
            return None
        cable = self._plant.cable_of(end)
        if cable is None or cable.kind != CableKind.CABLE:
            return None
        near = self._other_end(end)
        mate = self._plant.mate(near.pk)
        leg = mate if mate is not None and mate.role == Role.LEG else None
        return Drop(
            cable=cable,
            fibre=self._plant.fibres[end.passage_id or 0],
            splice=self._plant.joined[back.pk],
            leg=leg,
            leg_joint=self._plant.joined[near.pk] if leg else None,
        )

    def _other_end(self, end: Point) -> Point:
        return next(e for e in self._ends[end.passage_id or 0] if e.pk != end.pk)

    def _patch(self, home: Place, front: Point | None) -> Patch | None:
        """Return the terminal with a serial that a cord joins to an outlet's front."""
        end = self._plant.mate(front.pk) if front else None
        cord = self._plant.cable_of(end) if end else None
        if front is None or end is None or cord is None or cord.kind != CableKind.CORD:
            return None
        far = self._other_end(end)
        port = self._plant.mate(far.pk)
        terminal = self._plant.equipment.get(port.equipment_id or 0) if port else None
        if port is None or terminal is None or port.role != Role.TERMINAL:
            return None
        if terminal.place_id != home.pk or not terminal.serial:
            return None
        both = (self._plant.joined[front.pk], self._plant.joined[far.pk])
        return Patch(terminal=terminal, port=port, cord=cord, joints=both)
