"""Build one thing of a row by its verb."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from records.changes import OpenChange, bookings, cables, equipment, joints, places, readings
from records.intake._plan import Item, Key, Kind, Plan, RowPlan
from records.models import (
    EquipmentKind,
    JointKind,
    Line,
    PlaceKind,
    Point,
    Role,
)


@dataclass(slots=True)
class Site:
    """What stands so far: the number in the record of each key, found or just built."""

    plan: Plan
    standing: dict[Key, int]
    _points: dict[tuple[str, int], dict[tuple[str, int], Point]] = field(default_factory=dict)

    @classmethod
    def of(cls, plan: Plan) -> "Site":
        """Return the site before anything of the plan is built."""
        found = (item for row in plan.rows for item in row.items)
        return cls(plan, {item.key: item.pk for item in found if item.pk is not None})

    def pk(self, row: RowPlan, kind: Kind) -> int:
        """Return the number in the record of what a row has of a kind."""
        item = row.item(kind)
        if item is None:
            raise ValueError(f"Row {row.number} has no {kind}.")
        return self.standing[item.key]

    def place(self, key: Key) -> int:
        """Return the number in the record of a place, by its key."""
        kind, pk = key[0], key[-1]
        return pk if kind == "place" and isinstance(pk, int) else self.standing[key]

    def point(self, row: RowPlan, kind: Kind, role: Role, number: int) -> Point:
        """Return a port, or a fibre's end; all of one thing are read at once, and once."""
        owner = "passage__cable" if kind == Kind.CABLE else "equipment"
        pk = self.pk(row, kind)
        if (owner, pk) not in self._points:
            found = Point.objects.filter(**{owner: pk})
            self._points[owner, pk] = {(each.role, each.number): each for each in found}
        return self._points[owner, pk][role, number]


def build(change: OpenChange, site: Site, row: RowPlan, item: Item) -> None:
    """Build a thing unless it stands. Raises: what its verb refuses."""
    if item.key not in site.standing:
        site.standing[item.key] = _BUILDERS[item.kind](change, site, row, item)


def _add(change: OpenChange, kind: PlaceKind, item: Item, parent: int | None, **more: Any) -> int:
    place = places.add(change, kind=kind, name=item.name, parent=parent, **more)
    return int(place.pk)


def _estate(change: OpenChange, _site: Site, _row: RowPlan, item: Item) -> int:
    return _add(change, PlaceKind.ESTATE, item, None)


def _building(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    return _add(change, PlaceKind.BUILDING, item, site.pk(row, Kind.ESTATE))


def _floor(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    storey = row.entry.floor.number if row.entry.floor else None
    return _add(change, PlaceKind.FLOOR, item, site.pk(row, Kind.BUILDING), storey=storey)


def _flat(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    around = site.pk(row, Kind.FLOOR if row.item(Kind.FLOOR) else Kind.BUILDING)
    note = "" if row.item(Kind.READING) else row.entry.note
    return _add(change, PlaceKind.FLAT, item, around, note=note)


def _cupboard(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    return _add(change, PlaceKind.CUPBOARD, item, site.pk(row, Kind.BUILDING))


def _splitter(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    return equipment.install(
        change,
        kind=EquipmentKind.SPLITTER,
        place=site.pk(row, Kind.CUPBOARD),
        name=row.entry.splitter,
        entry=site.plan.splitter_types[item.key],
        polish=site.plan.assumptions.splitter_polish,
    ).pk


def _cable(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    """Lay a cable whose ends suit the leg and the outlet.

    Without a leg to suit, the near ends get the connectors that a new splitter would have; the far
    ends of a cable to several flats stay bare.
    """
    spec, types = site.plan.cables[item.key], site.plan.types
    leg = _leg(site, row) if row.item(Kind.LEG_JOINT) else None
    flat = row.item(Kind.FLAT)
    ends_here = flat is not None and spec.b_place == flat.key
    cable = cables.lay(
        change,
        name=spec.name,
        a_place=site.place(spec.a_place),
        b_place=site.place(spec.b_place),
        length_m=spec.length_m,
        fibre_count=spec.fibre_count,
        entry=types.fibre.pk if types.fibre else None,
        colour_scheme=types.colour_scheme.pk if types.colour_scheme else None,
        a_polish=leg.polish if leg else site.plan.assumptions.splitter_polish,
        b_polish=_port(site, row, Kind.OUTLET, Role.BACK).polish if ends_here else "",
    )
    for fibre, length_m in spec.lengths_m.items():
        cables.measure(change, cable.pk, fibre=fibre, length_m=length_m)
    return cable.pk


def _leg(site: Site, row: RowPlan) -> Point:
    return site.point(row, Kind.SPLITTER, Role.LEG, row.entry.leg or 0)


def _outlet(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    mated = site.plan.types.mated
    return equipment.install(
        change,
        kind=EquipmentKind.OUTLET,
        place=site.pk(row, Kind.FLAT),
        name=item.name,
        entry=mated.pk if mated else None,
        polish=site.plan.assumptions.outlet_polish,
        back_polish="",
    ).pk


def _terminal(change: OpenChange, site: Site, row: RowPlan, item: Item) -> int:
    receives = site.plan.types.terminal_class
    return equipment.install(
        change,
        kind=EquipmentKind.TERMINAL,
        place=site.pk(row, Kind.FLAT),
        name=site.plan.assumptions.terminal,
        serial=item.name,
        polish=site.plan.assumptions.outlet_polish,
        optical_class=receives.pk if receives else None,
    ).pk


def _booking(change: OpenChange, site: Site, row: RowPlan, _item: Item) -> int:
    line = site.plan.lines[row.number]
    if line is None:
        line = Line.objects.get(place=site.pk(row, Kind.FLAT)).pk
    return bookings.book(change, _leg(site, row).pk, line=line).pk


def _fibre_end(site: Site, row: RowPlan, role: Role) -> Point:
    return site.point(row, Kind.CABLE, role, row.entry.fibre or 0)


def _port(site: Site, row: RowPlan, kind: Kind, role: Role) -> Point:
    return site.point(row, kind, role, 1)


def _splice(change: OpenChange, site: Site, row: RowPlan, _item: Item) -> int:
    back = _port(site, row, Kind.OUTLET, Role.BACK)
    outlet = site.pk(row, Kind.OUTLET)
    return _join(change, site, back, _fibre_end(site, row, Role.B_END), stands_in=outlet)


def _leg_joint(change: OpenChange, site: Site, row: RowPlan, _item: Item) -> int:
    return _join(change, site, _leg(site, row), _fibre_end(site, row, Role.A_END))


def _join(
    change: OpenChange, site: Site, near: Point, far: Point, *, stands_in: int | None = None
) -> int:
    """Mate connectors; splice where the near end is bare."""
    types = site.plan.types
    entry = types.mated if near.polish else types.splice
    kind = entry.kind if entry else JointKind.MATED
    return joints.join(
        change,
        near.pk,
        far.pk,
        kind=kind,
        entry=entry.pk if entry else None,
        stands_in=stands_in,
    ).pk


def _cord(change: OpenChange, site: Site, row: RowPlan, _item: Item) -> int:
    return joints.patch(
        change,
        _port(site, row, Kind.OUTLET, Role.FRONT).pk,
        _port(site, row, Kind.TERMINAL, Role.TERMINAL).pk,
        length_m=site.plan.assumptions.cord_length_m,
    ).pk


def _reading(change: OpenChange, site: Site, row: RowPlan, _item: Item) -> int:
    entry = row.entry
    if row.item(Kind.TERMINAL):
        point = _port(site, row, Kind.TERMINAL, Role.TERMINAL)
    else:
        point = _port(site, row, Kind.OUTLET, Role.FRONT)
    return readings.read(
        change,
        point.pk,
        wavelength_nm=entry.wavelength_nm or site.plan.assumptions.wavelength_nm,
        level_dbm=entry.reading.level_dbm if entry.reading else None,
        note=entry.note,
    ).pk


Builder = Callable[[OpenChange, Site, RowPlan, Item], int]

_BUILDERS: dict[Kind, Builder] = {
    Kind.ESTATE: _estate,
    Kind.BUILDING: _building,
    Kind.FLOOR: _floor,
    Kind.FLAT: _flat,
    Kind.CUPBOARD: _cupboard,
    Kind.SPLITTER: _splitter,
    Kind.CABLE: _cable,
    Kind.OUTLET: _outlet,
    Kind.TERMINAL: _terminal,
    Kind.BOOKING: _booking,
    Kind.SPLICE: _splice,
    Kind.CORD: _cord,
    Kind.LEG_JOINT: _leg_joint,
    Kind.READING: _reading,
}
